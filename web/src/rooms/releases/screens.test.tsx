import { create } from "@bufbuild/protobuf";
import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import { Code, ConnectError, createRouterTransport, type ServiceImpl } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, fireEvent, render, screen, waitFor, within } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Route, Router, Switch } from "wouter";
import { memoryLocation } from "wouter/memory-location";
import { SessionProvider, useSession } from "../../app/session.tsx";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import {
  CatalogService,
  ReachSchema,
  RecordSummarySchema,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type CreateReleaseRequest, DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { unitChoice } from "../../units/choice.ts";
import { candidatesOf } from "./candidates.ts";
import NewRelease from "./NewRelease.tsx";
import ReachScreen from "./ReachScreen.tsx";
import Release from "./Release.tsx";
import Releases from "./Releases.tsx";
import { findingOf, silentAfterMs, standingOf } from "./reach.ts";

const summary = (record: string, number: bigint, inForce: string[]) =>
  create(RecordSummarySchema, {
    record,
    newest: { name: `${record}/revisions/${number}`, record, number, title: record.slice(8) },
    inForce,
  });
const records = [summary("recipes/soft", 3n, ["EU=2"]), summary("recipes/matt", 1n, ["EU=1"])];
const at = Date.parse("2026-01-11T05:00:00Z");
const release = {
  number: 7n,
  revisions: ["recipes/soft/revisions/3"],
  markets: ["EU"],
  effectiveTime: timestampFromMs(at),
  approver: "people/arno",
  reason: "Cold months",
};

type Fakes = {
  catalog?: Partial<ServiceImpl<typeof CatalogService>>;
  desk?: Partial<ServiceImpl<typeof DeskService>>;
};

function Signed({ children }: { children: React.ReactNode }) {
  return useSession().session.state === "signed in" ? children : null;
}

function open(path: string, { catalog = {}, desk = {} }: Fakes = {}, role = Role.OFFICE_APPROVER) {
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, { whoAmI: () => ({ person: { name: "people/arno", roles: [role] } }) });
    service(BranchesService, {
      listBranches: () => ({
        branches: [{ name: "branches/ash", title: "Ash Lane", place: "Gdynia", market: "EU" }],
      }),
    });
    service(CatalogService, {
      listRecords: () => ({ records }),
      listReleases: () => ({ releases: [release] }),
      listReach: () => ({ reaches: [{ branch: "branches/ash", toldRelease: 7n, heldRelease: 7n }] }),
      ...catalog,
    });
    service(DeskService, desk);
  });
  const memory = memoryLocation({ path, record: true });
  render(
    <TransportProvider transport={transport}>
      <QueryClientProvider client={new QueryClient({ defaultOptions: { queries: { retry: false } } })}>
        <SessionProvider>
          <Signed>
            <Router hook={memory.hook} searchHook={memory.searchHook}>
              <Switch>
                <Route path="/releases" component={Releases} />
                <Route path="/releases/new" component={NewRelease} />
                <Route path="/releases/:number" component={Release} />
                <Route path="/reach" component={ReachScreen} />
              </Switch>
            </Router>
          </Signed>
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
  return memory;
}

beforeEach(() => {
  unitChoice.set({ ...unitChoice.value(), locale: "en-GB" });
  vi.spyOn(HTMLElement.prototype, "clientWidth", "get").mockReturnValue(800);
});
afterEach(cleanup);

describe("Releases", () => {
  it("draws the line, or says that there is none", async () => {
    open("/releases");
    expect(await screen.findByRole("link", { name: "Release 7" })).toBeDefined();
    expect(screen.getByText(/recipes\/soft, revision 3/)).toBeDefined();
    cleanup();
    open("/releases", { catalog: { listReleases: () => ({ releases: [] }) } });
    expect(await screen.findByText("No release yet.")).toBeDefined();
  });
  it("says what the service said when it fails", async () => {
    const listReleases = () => {
      throw new ConnectError("away", Code.Unavailable);
    };
    open("/releases", { catalog: { listReleases } });
    expect(await screen.findByText(/did not answer in time/)).toBeDefined();
  });
  it("confirms number and instant, with UTC beside it", async () => {
    open("/releases/7?done=yes");
    expect(await screen.findByText("Release 7 is done.")).toBeDefined();
    expect(screen.getAllByText(/11 Jan 2026, 05:00 UTC/).length).toBeGreaterThan(0);
  });
  it("does not take another release for the one in the address", async () => {
    open("/releases/9");
    expect(await screen.findByText("There is no release 9.")).toBeDefined();
  });
});

describe("a new release", () => {
  it("starts with the newest that are not in force, asks for a market, and confirms", async () => {
    const createRelease = vi.fn((_: CreateReleaseRequest) => ({ release }));
    const memory = open("/releases/new", { desk: { createRelease } });
    const soft = (await screen.findByLabelText(/soft, revision 3/)) as HTMLInputElement;
    expect(soft.checked).toBe(true);
    expect((screen.getByLabelText(/matt, revision 1/) as HTMLInputElement).checked).toBe(false);
    fireEvent.click(screen.getByRole("button", { name: "Release" }));
    expect(await screen.findByRole("link", { name: "Choose at least one market" })).toBeDefined();
    expect(createRelease).not.toHaveBeenCalled();
    fireEvent.click(screen.getByLabelText("EU"));
    fireEvent.click(screen.getByLabelText("From a later time"));
    fireEvent.change(screen.getByLabelText("Date and time where you are"), {
      target: { value: "2027-01-11T06:00" },
    });
    fireEvent.click(screen.getByRole("button", { name: "Release" }));
    await waitFor(() => expect(memory.history.at(-1)).toBe("/releases/7?done=yes"));
    expect(createRelease.mock.calls[0]?.[0]).toMatchObject({
      revisions: ["recipes/soft/revisions/3"],
      markets: ["EU"],
      branches: [],
      effectiveTime: timestampFromMs(new Date("2027-01-11T06:00").getTime()),
    });
  });
  it("tells an editor that an approver releases", async () => {
    open("/releases/new", {}, Role.OFFICE_EDITOR);
    expect(await screen.findByText("Only an office approver releases.")).toBeDefined();
  });
  it("goes back to exactly the revisions asked for", () => {
    const chosen = candidatesOf(records, ["recipes/soft/revisions/1"]).filter((one) => one.chosen);
    expect(chosen).toMatchObject([
      { revision: "recipes/soft/revisions/1", words: "soft, revision 1, going back from 3" },
    ]);
  });
});

describe("Reach", () => {
  const reach = (told: bigint, held: bigint, pulled?: number) =>
    create(ReachSchema, {
      toldRelease: told,
      heldRelease: held,
      ...(pulled === undefined ? {} : { pullTime: timestampFromMs(pulled) }),
    });
  it("does not take a silent branch for one that is behind", () => {
    expect(standingOf(reach(7n, 7n, 0), at)).toBe("holds it");
    expect(standingOf(reach(7n, 6n, at - silentAfterMs), at)).toBe("behind");
    expect(standingOf(reach(7n, 6n, at - silentAfterMs - 1), at)).toBe("silent");
    expect(standingOf(reach(7n, 0n), at)).toBe("never heard");
    expect(findingOf(["holds it", "behind", "silent", "never heard"])).toBe(
      "1 of 4 branches hold everything that is meant for them, 1 behind, 2 silent",
    );
  });
  it("shows the grid with its table", async () => {
    open("/reach");
    const table = await screen.findByRole("table", { name: "Branches" });
    expect(await within(table).findByRole("row", { name: /Ash Lane 7 7 holds it never/ })).toBeDefined();
  });
  it("says that there is no branch", async () => {
    open("/reach", { catalog: { listReach: () => ({ reaches: [] }) } });
    expect(await screen.findByText("No branch yet.")).toBeDefined();
  });
});
