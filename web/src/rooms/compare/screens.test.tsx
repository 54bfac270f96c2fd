import { create } from "@bufbuild/protobuf";
import { Code, ConnectError, createRouterTransport } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, fireEvent, render, screen, within } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Route, Router } from "wouter";
import { memoryLocation } from "wouter/memory-location";
import { SessionProvider } from "../../app/session.tsx";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import {
  type CompareBranchesRequest,
  CompareBranchesResponseSchema,
  CompareService,
  GetBranchReportResponseSchema,
  Mark,
  Metric,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { unitChoice } from "../../units/choice.ts";
import Branch from "./Branch.tsx";
import Causes from "./Causes.tsx";
import FairView from "./FairView.tsx";
import Film from "./Film.tsx";

const standings = [
  {
    branch: "branches/ash",
    title: "Ash Lane",
    piecesCount: 900n,
    reprintsCount: 25n,
    ratio: 0.98,
    expected: 25.5,
    mark: Mark.INSIDE,
  },
  {
    branch: "branches/elm",
    title: "Elm Yard",
    piecesCount: 557n,
    reprintsCount: 35n,
    ratio: 2.24,
    expected: 15.6,
    mark: Mark.HIGH_998,
  },
  {
    branch: "branches/fir",
    title: "Fir Row",
    piecesCount: 9n,
    ratio: 0,
    expected: 0.3,
    mark: Mark.CANNOT_TELL,
    neededCount: 120n,
  },
  { branch: "branches/oak", title: "Oak Gate", mark: Mark.SILENT, lastDay: "2026-05-02" },
];
const answer = create(CompareBranchesResponseSchema, {
  finding: "1 of 4 branches differs by more than chance",
  standings,
  overall: 0.028,
  limits: [1, 10, 30].map((size) => ({ size, low95: 0.5, high95: 1.5, low998: 0.3, high998: 1.8 })),
  method: "Exact limits of Poisson counts.",
  caveat: "It can not show reprints that nobody reported.",
});

type Fakes = {
  branches?: (request: CompareBranchesRequest) => typeof answer;
  report?: Parameters<typeof create<typeof GetBranchReportResponseSchema>>[1];
};

function open(at: string, fakes: Fakes = {}) {
  const transport = createRouterTransport(({ service }) => {
    service(CompareService, {
      compareBranches: fakes.branches ?? (() => answer),
      getBranchReport: () => create(GetBranchReportResponseSchema, fakes.report),
      compareRevisions: ({ record }) => ({
        finding: `Revision 3 of ${record} brought fewer reprints`,
        revisions: [
          { number: 2n, piecesCount: 400n, reprintsCount: 20n, rate: 0.05, rateLow: 0.03, rateHigh: 0.08 },
          {
            number: 3n,
            piecesCount: 400n,
            reprintsCount: 8n,
            rate: 0.02,
            difference: -0.03,
            differenceLow: -0.057,
            differenceHigh: -0.004,
          },
        ],
        method: "Newcombe's method 10.",
      }),
    });
    service(AccessService, { whoAmI: () => ({ person: { name: "people/ann", roles: [Role.AUDITOR] } }) });
    service(BranchesService, {
      listBranches: () => ({ branches: [{ name: "branches/ash", market: "UK" }] }),
    });
    service(CatalogService, {
      listRecords: () => ({ records: [{ record: "recipes/soft-matt", newest: { title: "Soft matt" } }] }),
    });
  });
  const memory = memoryLocation({ path: at, record: true });
  const queries = new QueryClient({ defaultOptions: { queries: { retry: false } } });
  render(
    <TransportProvider transport={transport}>
      <QueryClientProvider client={queries}>
        <SessionProvider>
          <Router hook={memory.hook} searchHook={memory.searchHook}>
            <Route path="/compare" component={FairView} />
            <Route path="/compare/branches/:branch" component={Branch} />
            <Route path="/compare/film" component={Film} />
            <Route path="/compare/causes" component={Causes} />
          </Router>
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
  return memory;
}

beforeEach(() => {
  unitChoice.set({ ...unitChoice.value(), locale: "en-GB", length: "mm" });
  vi.spyOn(HTMLElement.prototype, "clientWidth", "get").mockReturnValue(800);
});
afterEach(cleanup);

describe("Fair view", () => {
  it("titles the picture with the server's finding and names silent branches", async () => {
    open("/compare");
    expect(
      await screen.findByRole("img", { name: "1 of 4 branches differs by more than chance" }),
    ).toBeDefined();
    expect(screen.getByText("1 branch sent nothing in these days")).toBeDefined();
    expect(screen.getByText(/Oak Gate \(last report 2\sMay\s2026\)/)).toBeDefined();
    expect(screen.getByText("Exact limits of Poisson counts.")).toBeDefined();
    expect(screen.getByText(/needs about 120 more pieces/)).toBeDefined();
  });
  it("lists branches by title and sorts only when asked, in the address", async () => {
    const memory = open("/compare");
    const table = await screen.findByRole("table", { name: "Branches" });
    const first = () =>
      within(table)
        .getAllByRole("rowheader")
        .map((cell) => cell.textContent);
    expect(first()).toEqual(["Ash Lane", "Elm Yard", "Fir Row", "Oak Gate"]);
    fireEvent.click(within(table).getByRole("button", { name: "Reprints" }));
    expect(memory.history.at(-1)).toBe("/compare?sort=reprints");
    expect(first()[0]).toBe("Fir Row");
  });
  it("walks the points with the arrows in name order, and a point is a link to its branch", async () => {
    open("/compare?film=SOFT");
    const points = within(await screen.findByRole("list", { name: "Branches by name" })).getAllByRole("link");
    expect(points.map((point) => point.textContent)).toEqual(["● Ash Lane", "▲ Elm Yard", "○ Fir Row"]);
    points[0]?.focus();
    fireEvent.keyDown(points[0] as Element, { key: "ArrowRight" });
    expect(document.activeElement).toBe(points[1]);
    expect(points[1]?.getAttribute("href")).toBe("/compare/branches/elm?film=SOFT");
    expect(screen.getByText(/35 reprints in 557 pieces, 15.6 expected/)).toBeDefined();
  });
  it("asks what the switches say", async () => {
    const asked: CompareBranchesRequest[] = [];
    const memory = open("/compare?from=2026-01-01&to=2026-03-31&market=UK", {
      branches: (request) => {
        asked.push(request);
        return answer;
      },
    });
    fireEvent.click(await screen.findByRole("radio", { name: "Yield" }));
    await screen.findByText("Film drawn");
    fireEvent.click(screen.getByRole("radio", { name: "As recorded" }));
    fireEvent.click(screen.getByRole("checkbox", { name: /Widen the limits/ }));
    await vi.waitFor(() => expect(asked.at(-1)?.overDispersion).toBe(true));
    expect(asked[0]).toMatchObject({ metric: Metric.REPRINTS, mixAdjusted: true, overDispersion: false });
    expect(asked.at(-1)).toMatchObject({ metric: Metric.YIELD, mixAdjusted: false });
    expect(asked.at(-1)?.span).toMatchObject({ fromDay: "2026-01-01", toDay: "2026-03-31", market: "UK" });
    expect(memory.history.at(-1)).toContain("metric=yield&work=as-recorded&spread=wide");
  });
  it("says when nobody sent anything", async () => {
    open("/compare", { branches: () => create(CompareBranchesResponseSchema, { finding: "Nothing" }) });
    expect(await screen.findByText("No branch sent anything in these days.")).toBeDefined();
    expect(screen.queryByRole("img")).toBeNull();
  });
  it("says what the server said when it fails", async () => {
    open("/compare", {
      branches: () => {
        throw new ConnectError("no", Code.PermissionDenied);
      },
    });
    expect(await screen.findByText("The branches could not be compared")).toBeDefined();
    expect(screen.getByRole("button", { name: "Try again" })).toBeDefined();
  });
});

describe("Branch", () => {
  it("draws weeks, film, causes and what stands out", async () => {
    open("/compare/branches/elm", {
      report: {
        finding: "Twice the reprints expected",
        reprints: standings[1] ?? {},
        losses: [
          { key: "drawn", areaMm2: 1_000_000n, share: 1 },
          { key: "layout", areaMm2: 300_000n, share: 0.3 },
          { key: "decorated", areaMm2: 700_000n, share: 0.7 },
        ],
        causes: [
          {
            cause: "edge-lift",
            count: 35n,
            share: 1,
            running: 1,
            againstOthers: 2,
            againstLow: 1.4,
            againstHigh: 3,
          },
        ],
        chart: [{ day: "2026-11-02", piecesCount: 40n, reprintsCount: 3n, rate: 0.075, high: 0.09 }],
        releases: [
          {
            release: 12n,
            effectiveTime: { seconds: 1_790_000_000n },
            revisions: ["recipes/soft/revisions/6"],
          },
        ],
        strata: [{ film: "SOFT", fabric: "nylon", ratio: 3, ratioLow: 1.5, ratioHigh: 5 }],
      },
    });
    expect(
      await screen.findByRole("heading", { level: 1, name: "What happened at Elm Yard?" }),
    ).toBeDefined();
    expect(screen.getByText("Twice the reprints expected")).toBeDefined();
    expect(screen.getAllByRole("img").map((picture) => picture.getAttribute("aria-label"))).toEqual([
      "Reprints per piece, weeks with work: 1, too few for limits",
      "Most film is lost here: between designs, 30.0 % of what was drawn",
      "100 % of reprints come from edge lifts",
      "More reprints than expected with SOFT, nylon",
    ]);
    expect(screen.getByText(/Release 12, 21 Sept 2026/)).toBeDefined();
    expect(screen.getByRole("link", { name: /did it help/ }).getAttribute("href")).toBe(
      "/compare/causes?recipe=recipes%2Fsoft",
    );
    expect(document.querySelector("main, body")?.textContent?.replaceAll("\u00a0", " ")).toContain(
      "Between designs 0.300 m² + On good garments 0.700 m² = 1.00 m² drawn",
    );
  });
  it("says when the branch sent nothing", async () => {
    open("/compare/branches/oak", { report: { finding: "No report" } });
    expect(await screen.findByText("This branch sent nothing in these days.")).toBeDefined();
  });
});

describe("Film", () => {
  it("draws the yield of every branch", async () => {
    open("/compare/film");
    expect(await screen.findByRole("img", { name: answer.finding })).toBeDefined();
    expect(screen.getByRole("columnheader", { name: "Film drawn" })).toBeDefined();
  });
});

describe("Changes", () => {
  it("compares the revisions of the recipe that was picked", async () => {
    const memory = open("/compare/causes");
    await screen.findByRole("option", { name: "Soft matt" });
    fireEvent.change(screen.getByLabelText("Recipe"), { target: { value: "recipes/soft-matt" } });
    expect(
      await screen.findByRole("img", { name: "Revision 3 of recipes/soft-matt brought fewer reprints" }),
    ).toBeDefined();
    expect(screen.getByText("−3.00 (−5.70 to −0.40)")).toBeDefined();
    expect(memory.history.at(-1)).toBe("/compare/causes?recipe=recipes%2Fsoft-matt");
  });
});
