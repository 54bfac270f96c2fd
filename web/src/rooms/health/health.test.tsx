import { create } from "@bufbuild/protobuf";
import { createRouterTransport } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, render, screen } from "@testing-library/react";
import { afterEach, describe, expect, it, vi } from "vitest";
import { SessionProvider } from "../../app/session.tsx";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { CatalogService, ReachSchema } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { ReleaseSummarySchema } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import Health from "./Health.tsx";
import { askReady } from "./ready.ts";
import { type Known, linesOf, reportOf } from "./report.ts";

afterEach(() => {
  cleanup();
  vi.unstubAllGlobals();
});

const noon = Date.UTC(2026, 10, 25, 12);
const clock =
  (...instants: number[]) =>
  () =>
    instants.shift() ?? noon;
const served = (date: number) => new Response("ok", { headers: { date: new Date(date).toUTCString() } });

describe("asking the service", () => {
  it("compares the clock here with the middle of the service's second", async () => {
    const ready = await askReady(async () => served(noon), clock(noon + 60_000, noon + 61_000));
    expect(ready).toEqual({ state: "ready", tookMs: 1_000, clockAheadMs: 60_000 });
  });
  it("passes on what is not ready", async () => {
    const ready = await askReady(async () => new Response("store: no answer", { status: 503 }));
    expect(ready).toEqual({ state: "not ready", words: "store: no answer" });
  });
  it("takes a network that is away as an answer", async () => {
    const ready = await askReady(() => Promise.reject(new TypeError("failed to fetch")));
    expect(ready).toEqual({ state: "unreached" });
  });
});

describe("the lines", () => {
  const calm: Known = {
    now: noon,
    locale: "en-GB",
    online: true,
    ready: { state: "ready", clockAheadMs: 400, tookMs: 12 },
    version: "0.9.1",
    signedIn: true,
    release: create(ReleaseSummarySchema, {
      number: 7n,
      effectiveTime: { seconds: BigInt(noon / 1000 - 7200) },
    }),
    reaches: [create(ReachSchema, { branch: "branches/elm", toldRelease: 7n, heldRelease: 7n })],
  };
  const hot = (known: Known) =>
    linesOf(known)
      .filter((line) => line.hot)
      .map((line) => line.words);

  it("are calm when all is well", () => {
    expect(hot(calm)).toEqual([]);
    expect(reportOf(linesOf(calm), noon, "a browser")).toContain("Newest release: 7, ");
  });
  it("point at what is to be looked after", () => {
    expect(hot({ ...calm, online: false, ready: { state: "unreached" } })).toEqual(["Network", "Service"]);
    expect(hot({ ...calm, ready: { state: "ready", clockAheadMs: -90_000, tookMs: 12 } })).toEqual([
      "Clock of this device",
    ]);
    const behind = create(ReachSchema, { branch: "branches/elm", toldRelease: 7n, heldRelease: 6n });
    expect(hot({ ...calm, reaches: [behind] })).toEqual(["Settings sheets"]);
  });
});

function open(signedIn: boolean) {
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, {
      whoAmI: () => ({
        version: "0.9.1",
        ...(signedIn && { person: { name: "people/ann", title: "Ann", roles: [Role.OFFICE_EDITOR] } }),
      }),
    });
    service(CatalogService, {
      listReleases: () => ({ releases: [{ number: 12n, effectiveTime: { seconds: 1_700_000_000n } }] }),
      listReach: () => ({ reaches: [{ branch: "branches/elm", toldRelease: 12n, heldRelease: 12n }] }),
    });
  });
  render(
    <TransportProvider transport={transport}>
      <QueryClientProvider client={new QueryClient({ defaultOptions: { queries: { retry: false } } })}>
        <SessionProvider>
          <Health />
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
}

it("shows version and newest release when signed in", async () => {
  vi.stubGlobal("fetch", async () => served(Date.now()));
  open(true);
  expect(await screen.findByText("0.9.1")).toBeDefined();
  expect(await screen.findByText(/^12, from /)).toBeDefined();
  expect(await screen.findByText("all 1 branches hold what they were told of")).toBeDefined();
  expect(screen.getByRole("button", { name: "Copy report" })).toBeDefined();
});

it("works signed out and says that the service is away", async () => {
  vi.stubGlobal("fetch", () => Promise.reject(new TypeError("failed to fetch")));
  open(false);
  expect(await screen.findByText("To look after: service")).toBeDefined();
  expect(screen.getByText("shown after signing in")).toBeDefined();
});
