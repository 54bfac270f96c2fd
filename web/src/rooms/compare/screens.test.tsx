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
  ChartKind,
  type CompareBranchesRequest,
  CompareBranchesResponseSchema,
  CompareService,
  Dispersion,
  GetBranchReportResponseSchema,
  Mark,
  Metric,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { unitChoice } from "../../units/choice.ts";
import Branch from "./Branch.tsx";
import Causes from "./Causes.tsx";
import Changes from "./Changes.tsx";
import Charts from "./Charts.tsx";
import Costs from "./Costs.tsx";
import FairView from "./FairView.tsx";
import Film from "./Film.tsx";
import Methods from "./Methods.tsx";
import OneFilm from "./OneFilm.tsx";
import Pack from "./Pack.tsx";
import Trial from "./Trial.tsx";

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
  asOf: { seconds: 1_795_600_000n },
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
      getChart: ({ kind }) => ({
        kind,
        finding:
          kind === ChartKind.CUSUM
            ? "The sum is over its threshold since 2 Nov"
            : "1 of 2 weeks lies outside its limits",
        centre: 0.03,
        points: [
          {
            day: "2026-11-02",
            piecesCount: 40n,
            reprintsCount: 9n,
            value: 0.22,
            centre: 0.03,
            high: 0.1,
            outside: true,
          },
          { day: "2026-11-09", piecesCount: 40n, reprintsCount: 1n, value: 0.025, centre: 0.03, high: 0.1 },
        ],
        marks: [
          { day: "2026-11-03", kind: "release", release: 12n, words: "Release 12: soft matt, 13 s" },
          { day: "2026-11-04", kind: "calibration", words: "Swing press calibrated" },
        ],
        method: "Three standard deviations.",
        methodKey: "p-chart",
      }),
      listCharts: () => ({
        finding: "Elm Yard has a month outside its limits",
        firstDay: "2026-01-01",
        lastDay: "2026-03-01",
        highest: 0.2,
        charts: [
          {
            branch: "branches/elm",
            title: "Elm Yard",
            outsideCount: 1,
            points: [
              { day: "2026-01-01", value: 0.02, high: 0.1 },
              { day: "2026-02-01", value: 0.15, high: 0.1, outside: true },
            ],
          },
          { branch: "branches/oak", title: "Oak Gate", silent: true },
        ],
      }),
      findCauses: () => ({
        finding: "One thing stands out",
        causes: [{ cause: "edge-lift", count: 35n, share: 1, running: 1 }],
        associations: [
          {
            cause: "edge-lift",
            factor: "branch",
            level: "branches/elm",
            title: "Elm Yard",
            piecesCount: 557n,
            count: 35n,
            rate: 0.06,
            expected: 11.3,
            ratio: 3.1,
            ratioLow: 2.6,
            ratioHigh: 3.7,
            discovery: true,
            sentence: "Edge lift is associated with Elm Yard: 3.1 times.",
          },
        ],
        testedCount: 40,
        caveat: "It can not show why.",
      }),
      getFilmReport: () => ({ finding: "SOFT is as expected", reprints: standings, yields: standings }),
      compareCosts: () => ({
        costs: [
          {
            branch: "branches/elm",
            title: "Elm Yard",
            currency: "EUR",
            reprints: { minor: 12_000n, lowMinor: 9_000n, highMinor: 15_000n },
            reprintsBeyond: { minor: 7_000n, lowMinor: 4_000n, highMinor: 10_000n },
            priced: 1,
          },
        ],
        totals: [{ currency: "EUR", reprintsMinor: 12_000n, branchesCount: 1 }],
      }),
      watchTrial: () => ({
        finding: "Go on: not decided yet",
        rule: "Stop when the sum reaches 2.77.",
        upper: 2.77,
        lower: -1.56,
        plannedCount: 2_000n,
        steps: [{ day: "2026-11-02", piecesCount: 100n, reprintsCount: 1n, better: 0.4, worse: -0.2 }],
        looks: [{ information: 0.2, bound: 4.56 }],
      }),
      listMethods: () => ({
        methods: [{ key: "garwood", title: "Exact limits", words: "All means.", source: "Garwood 1936" }],
      }),
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
            <Route path="/compare/branches/:branch/pack" component={Pack} />
            <Route path="/compare/film/:film" component={OneFilm} />
            <Route path="/compare/charts" component={Charts} />
            <Route path="/compare/causes" component={Causes} />
            <Route path="/compare/costs" component={Costs} />
            <Route path="/compare/trials/:release" component={Trial} />
            <Route path="/compare/methods" component={Methods} />
            <Route path="/compare/film" component={Film} />
            <Route path="/compare/changes" component={Changes} />
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
    fireEvent.click(screen.getByRole("radio", { name: /variance between branches/ }));
    await vi.waitFor(() => expect(asked.at(-1)?.dispersion).toBe(Dispersion.ADDITIVE));
    expect(asked[0]).toMatchObject({
      metric: Metric.REPRINTS,
      mixAdjusted: true,
      dispersion: Dispersion.NONE,
    });
    expect(asked.at(-1)).toMatchObject({ metric: Metric.YIELD, mixAdjusted: false });
    expect(asked.at(-1)?.span).toMatchObject({ fromDay: "2026-01-01", toDay: "2026-03-31", market: "UK" });
    expect(memory.history.at(-1)).toContain("metric=yield&work=as-recorded&spread=added");
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
        strata: [{ film: "SOFT", fabric: "nylon", ratio: 3, ratioLow: 1.5, ratioHigh: 5 }],
      },
    });
    expect(
      await screen.findByRole("heading", { level: 1, name: "What happened at Elm Yard?" }),
    ).toBeDefined();
    expect(screen.getByText("Twice the reprints expected")).toBeDefined();
    await screen.findByRole("img", { name: "1 of 2 weeks lies outside its limits" });
    expect(screen.getAllByRole("img").map((picture) => picture.getAttribute("aria-label"))).toEqual([
      "1 of 2 weeks lies outside its limits",
      "Most film is lost here: between designs, 30.0 % of what was drawn",
      "100 % of reprints come from edge lifts",
      "More reprints than expected with SOFT, nylon",
    ]);
    expect(screen.getByText("What happened in these days (2)")).toBeDefined();
    expect(screen.getByRole("link", { name: "Release 12: soft matt, 13 s" }).getAttribute("href")).toBe(
      "/releases/12",
    );
    expect(document.querySelector("main, body")?.textContent?.replaceAll("\u00a0", " ")).toContain(
      "Between designs 0.300 m² + On good garments 0.700 m² = 1.00 m² drawn",
    );
  });
  it("draws another chart when asked, and keeps it in the address", async () => {
    const memory = open("/compare/branches/elm?from=2026-10-01&to=2026-11-30", {
      report: { losses: [{ key: "drawn", areaMm2: 1n, share: 1 }] },
    });
    fireEvent.change(await screen.findByLabelText("What is charted"), { target: { value: "cusum" } });
    expect(
      await screen.findByRole("img", { name: "The sum is over its threshold since 2 Nov" }),
    ).toBeDefined();
    expect(memory.history.at(-1)).toContain("chart=cusum");
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

describe("held at an instant", () => {
  it("asks as of then, says so, and can come back to now", async () => {
    const asked: CompareBranchesRequest[] = [];
    const memory = open("/compare", {
      branches: (request) => {
        asked.push(request);
        return answer;
      },
    });
    fireEvent.click(await screen.findByRole("button", { name: "Hold this picture" }));
    await vi.waitFor(() => expect(asked.at(-1)?.asOf?.seconds).toBe(1_795_600_000n));
    expect(memory.history.at(-1)).toContain("as-of=2026-11-25");
    expect(screen.getByText(/as known at/)).toBeDefined();
    fireEvent.click(screen.getByRole("button", { name: "Show what is known now" }));
    await vi.waitFor(() => expect(memory.history.at(-1)).toBe("/compare"));
  });
});

describe("Over time", () => {
  it("draws every branch on one axis, also the silent one", async () => {
    open("/compare/charts");
    expect(await screen.findByRole("img", { name: "Elm Yard has a month outside its limits" })).toBeDefined();
    expect(screen.getByText("sent nothing")).toBeDefined();
    expect(screen.getByText(/Every chart has the same axes/)).toBeDefined();
    expect(screen.getByRole("link", { name: "Elm Yard" }).getAttribute("href")).toBe("/compare/branches/elm");
  });
});

describe("Causes", () => {
  it("says what goes together with reprints, findings first, and never why", async () => {
    open("/compare/causes");
    expect(
      await screen.findByRole("img", {
        name: "1 of 40 things looked at go together with reprints beyond chance",
      }),
    ).toBeDefined();
    expect(screen.getByText("Edge lift is associated with Elm Yard: 3.1 times.")).toBeDefined();
    expect(screen.getByRole("table", { name: /Everything that was looked at/ })).toBeDefined();
    expect(document.body.textContent).not.toMatch(/because of|caused by/i);
  });
});

describe("One film", () => {
  it("sets branches side by side in one film", async () => {
    open("/compare/film/SOFT");
    expect(await screen.findByRole("heading", { level: 1, name: "How does SOFT do?" })).toBeDefined();
    expect(await screen.findByRole("img", { name: /Reprints with SOFT/ })).toBeDefined();
  });
});

describe("Costs", () => {
  it("adds up each currency alone", async () => {
    open("/compare/costs");
    const table = await screen.findByRole("table", { name: /in its own currency/ });
    expect(within(table).getByText(/€120.00 \(€90.00 to €150.00\)/)).toBeDefined();
    expect(screen.getByText("Reprints, 1 branches")).toBeDefined();
  });
});

describe("Trial", () => {
  it("states the rule first, then the evidence and the looks", async () => {
    open("/compare/trials/12");
    expect(await screen.findByText("Stop when the sum reaches 2.77.")).toBeDefined();
    expect(screen.getByRole("img", { name: "Go on: not decided yet" })).toBeDefined();
    expect(screen.getByText("still to come")).toBeDefined();
  });
});

describe("Methods", () => {
  it("explains each method with its source", async () => {
    open("/compare/methods");
    expect(await screen.findByText("Source: Garwood 1936")).toBeDefined();
  });
});

describe("Pack", () => {
  it("puts the branch on paper with room for what is agreed", async () => {
    open("/compare/branches/elm/pack", {
      report: { reprints: standings[1] ?? {}, losses: [{ key: "drawn", areaMm2: 1n, share: 1 }] },
    });
    expect(await screen.findByRole("heading", { level: 1, name: "Visit at Elm Yard" })).toBeDefined();
    expect(screen.getByRole("list", { name: "Lines to write on" })).toBeDefined();
    expect(await screen.findByText(/Edge lift is associated with Elm Yard/)).toBeDefined();
  });
});

describe("Changes", () => {
  it("compares the revisions of the recipe that was picked", async () => {
    const memory = open("/compare/changes");
    await screen.findByRole("option", { name: "Soft matt" });
    fireEvent.change(screen.getByLabelText("Recipe"), { target: { value: "recipes/soft-matt" } });
    expect(
      await screen.findByRole("img", { name: "Revision 3 of recipes/soft-matt brought fewer reprints" }),
    ).toBeDefined();
    expect(screen.getByText("−3.00 (−5.70 to −0.40)")).toBeDefined();
    expect(memory.history.at(-1)).toBe("/compare/changes?recipe=recipes%2Fsoft-matt");
  });
});
