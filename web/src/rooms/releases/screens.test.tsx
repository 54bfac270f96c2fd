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
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import {
  CatalogService,
  ReachSchema,
  ReachStage,
  RecordSummarySchema,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import {
  type CreateReleaseRequest,
  DeskService,
  ReleaseAct,
  ReleaseState,
} from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { PastService } from "../../proto/evenpeel/recipes/v1/past_service_pb.ts";
import {
  type ApproveReleaseRequest,
  ReleaseService,
} from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import { FaultSchema } from "../../proto/evenpeel/record/v1/fault_pb.ts";
import { unitChoice } from "../../units/choice.ts";
import Acts from "./Acts.tsx";
import { candidatesOf } from "./candidates.ts";
import NewRelease from "./NewRelease.tsx";
import Past from "./Past.tsx";
import ReachScreen from "./ReachScreen.tsx";
import Release from "./Release.tsx";
import Releases from "./Releases.tsx";
import { findingOf, stairsOf } from "./reach.ts";

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
  release?: Partial<ServiceImpl<typeof ReleaseService>>;
};

function Signed({ children }: { children: React.ReactNode }) {
  return useSession().session.state === "signed in" ? children : null;
}

function open(
  path: string,
  { catalog = {}, desk = {}, release: releasing = {} }: Fakes = {},
  role = Role.OFFICE_APPROVER,
) {
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
      listReach: () => ({
        reaches: [
          {
            branch: "branches/ash",
            toldRelease: 7n,
            heldRelease: 7n,
            holdTime: timestampFromMs(at),
            stage: ReachStage.USED,
          },
        ],
      }),
      ...catalog,
    });
    service(DeskService, desk);
    service(ReleaseService, {
      getRelease: ({ number }) => {
        if (number !== 7n)
          throw new ConnectError("no", Code.NotFound, undefined, [
            { desc: FaultSchema, value: { kind: "NOT_FOUND", reason: "RELEASE_NOT_FOUND", words: "none" } },
          ]);
        return { release };
      },
      listProposals: () => ({ proposals: [] }),
      previewRelease: ({ goBackOf }) => ({
        plan:
          goBackOf > 0n ? { revisions: ["recipes/soft/revisions/2"], markets: ["EU"] } : { markets: ["EU"] },
        branchesCount: 24n,
        changedBranchesCount: 20n,
        changes: [
          {
            record: "recipes/soft",
            title: "Soft",
            before: "recipes/soft/revisions/2",
            after: "recipes/soft/revisions/3",
            branchesCount: 20n,
            differences: [{ path: "dwell_seconds.set", words: "dwell: 12 s before, 15 s now (3 s more)" }],
            consequences: {
              secondsPerGarmentDelta: 3n,
              machinesCount: 24n,
              refusals: [
                {
                  machine: "branches/ash/machines/p1",
                  title: "Swing press",
                  words: "too cold",
                  heldBefore: true,
                },
                { machine: "branches/elm/machines/p1", title: "Old press", words: "too cold" },
              ],
            },
          },
        ],
        instants: [
          {
            zone: "Europe/Vienna",
            branchesCount: 3n,
            words: "Monday, 06:00 (Europe/Vienna); clocks change before then",
          },
        ],
      }),
      ...releasing,
    });
    service(CompareService, { listEvidence: () => ({ evidence: [] }) });
    service(PastService, {
      getPast: () => ({
        localTime: "2026-03-29T03:30:00+02:00",
        zone: "Europe/Vienna",
        market: "EU",
        chainWhole: true,
        chainWords: "7 releases, each signed.",
        entries: [
          {
            revision: "recipes/soft/revisions/2",
            title: "Soft",
            release: 5n,
            author: "people/mira-1",
            approver: "people/arno-1",
          },
        ],
      }),
      listAudit: () => ({
        entries: [
          { number: 3n, act: "ApproveDraft", person: "people/arno-1", object: "recipes/soft/revisions/3" },
        ],
      }),
      verifyAudit: () => ({
        entriesCount: 3n,
        brokenEntry: { number: 3n, words: "its hash is not that of its content" },
      }),
    });
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
                <Route path="/past" component={Past} />
                <Route path="/past/acts" component={Acts} />
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
    expect(screen.getByText(/soft, revision 3/)).toBeDefined();
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

describe("what would change", () => {
  it("is shown with its consequences before anybody releases", async () => {
    open("/releases/new?markets=EU");
    expect(await screen.findByText("Changes something at 20 of 24 branches.")).toBeDefined();
    expect(
      screen.getByText(
        /At 20 branches: about 3 s more a garment at the press; 2 of 24 machines can not hold it, 1 of them new\./,
      ),
    ).toBeDefined();
    expect(screen.getByText("dwell: 12 s before, 15 s now (3 s more)")).toBeDefined();
    expect(screen.getByText("Monday, 06:00 (Europe/Vienna); clocks change before then")).toBeDefined();
  });
  it("goes back to what stood before a release", async () => {
    const createRelease = vi.fn((_: CreateReleaseRequest) => ({ release }));
    open("/releases/new?back=7", { desk: { createRelease } });
    expect(((await screen.findByLabelText("Reason", { exact: false })) as HTMLTextAreaElement).value).toBe(
      "Goes back to what stood before release 7",
    );
    fireEvent.click(screen.getByRole("button", { name: "Release" }));
    await waitFor(() => expect(createRelease).toHaveBeenCalled());
    expect(createRelease.mock.calls[0]?.[0]).toMatchObject({ revisions: ["recipes/soft/revisions/2"] });
  });
  it("widens a trial to all branches of its markets", async () => {
    const createRelease = vi.fn((_: CreateReleaseRequest) => ({ release }));
    open("/releases/new?widens=7", { desk: { createRelease } });
    fireEvent.click(await screen.findByRole("button", { name: "Release" }));
    await waitFor(() => expect(createRelease).toHaveBeenCalled());
    expect(createRelease.mock.calls[0]?.[0]).toMatchObject({ widens: 7n, branches: [], markets: ["EU"] });
  });
});

describe("a release that waits", () => {
  const proposal = {
    name: "proposals/p1",
    sha256: new Uint8Array(32),
    proposer: "people/mira",
    plan: { revisions: ["recipes/soft/revisions/3"], markets: ["EU"] },
    overdue: true,
  };
  it("asks when its instant has passed, and needs another one", async () => {
    const approveRelease = vi.fn((_: ApproveReleaseRequest) => ({ release }));
    const memory = open("/releases", {
      release: { listProposals: () => ({ proposals: [proposal] }), approveRelease },
    });
    expect(await screen.findByText("Its instant passed and nobody approved it")).toBeDefined();
    fireEvent.click(screen.getByRole("button", { name: "Approve and release" }));
    expect(await screen.findByText("Its instant has passed: choose another.")).toBeDefined();
    expect(approveRelease).not.toHaveBeenCalled();
    fireEvent.change(screen.getByLabelText("New date and time where you are"), {
      target: { value: "2027-01-11T06:00" },
    });
    fireEvent.click(screen.getByRole("button", { name: "Approve and release" }));
    await waitFor(() => expect(memory.history.at(-1)).toBe("/releases/7?done=yes"));
    expect(approveRelease.mock.calls[0]?.[0].effectiveTime).toEqual(
      timestampFromMs(new Date("2027-01-11T06:00").getTime()),
    );
  });
  it("can not be approved by who asked", async () => {
    open("/releases", {
      release: { listProposals: () => ({ proposals: [{ ...proposal, proposer: "people/arno" }] }) },
    });
    expect(await screen.findByText("You asked: another person approves.")).toBeDefined();
  });
});

describe("a scheduled release", () => {
  it("is cancelled by a new one, after a question", async () => {
    const cancelRelease = vi.fn(() => ({ release }));
    open("/releases/7", {
      release: {
        getRelease: () => ({ release: { ...release, act: ReleaseAct.PUT, state: ReleaseState.SCHEDULED } }),
        cancelRelease,
      },
    });
    fireEvent.click(await screen.findByRole("button", { name: "Cancel it" }));
    fireEvent.click(await screen.findByRole("button", { name: "Cancel release 7" }));
    await waitFor(() => expect(cancelRelease).toHaveBeenCalled());
  });
});

describe("Reach", () => {
  const reach = (stage: ReachStage, silent = false) => create(ReachSchema, { stage, silent });
  it("does not take a silent branch for one that is behind", () => {
    expect(
      findingOf([
        reach(ReachStage.USED),
        reach(ReachStage.HOLDING, true),
        reach(ReachStage.TOLD),
        reach(ReachStage.TOLD, true),
      ]),
    ).toBe("2 of 4 branches hold everything that is meant for them, 1 used it, 2 silent");
  });
  it("climbs one step for each branch that came to hold a release or a newer one", () => {
    const holds = (branch: string, held: bigint, since: number) =>
      create(ReachSchema, { branch, toldRelease: 7n, heldRelease: held, holdTime: timestampFromMs(since) });
    const found = stairsOf([holds("b", 7n, at + 2), holds("a", 8n, at + 1), holds("c", 6n, at)], 7n);
    expect(found).toEqual({
      told: 3,
      stairs: [
        { branch: "a", at: at + 1 },
        { branch: "b", at: at + 2 },
      ],
    });
  });
  it("shows squares, their table, and one branch with since when", async () => {
    open("/reach");
    const table = await screen.findByRole("table", { name: "Branches" });
    expect(
      await within(table).findByRole("row", { name: /Ash Lane 7 7 used it in a run never/ }),
    ).toBeDefined();
    fireEvent.click(within(table).getByRole("button", { name: "Ash Lane" }));
    expect(await screen.findByRole("heading", { name: "Ash Lane: used it in a run" })).toBeDefined();
    expect(screen.getByText(/release 7, since 11 Jan 2026/)).toBeDefined();
  });
  it("says that there is no branch", async () => {
    open("/reach", { catalog: { listReach: () => ({ reaches: [] }) } });
    expect(await screen.findByText("No branch yet.")).toBeDefined();
  });
});

describe("Past", () => {
  it("says what was in force, by which release, and that the chain is whole", async () => {
    open("/past?branch=ash&at=2026-03-29T01:30:00.000Z");
    expect(await screen.findByRole("heading", { name: /by its own clock \(Europe\/Vienna\)/ })).toBeDefined();
    expect(screen.getByText("The chain of releases is whole")).toBeDefined();
    expect(screen.getByRole("link", { name: "Soft" }).getAttribute("href")).toBe("/recipes/soft/revisions/2");
  });
  it("checks the chain of acts when asked, and names the first broken link", async () => {
    open("/past/acts");
    fireEvent.click(await screen.findByRole("button", { name: "Check the whole chain" }));
    expect(await screen.findByText("Act 3: its hash is not that of its content")).toBeDefined();
  });
});
