import { create, toBinary } from "@bufbuild/protobuf";
import { Code, ConnectError, createRouterTransport, type ServiceImpl } from "@connectrpc/connect";
import { TransportProvider } from "@connectrpc/connect-query";
import { QueryClient, QueryClientProvider } from "@tanstack/react-query";
import { cleanup, configure, fireEvent, render, screen, waitFor, within } from "@testing-library/react";
import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { Route, Router } from "wouter";
import { memoryLocation } from "wouter/memory-location";
import { SessionProvider, useSession } from "../../app/session.tsx";
import { AccessService, Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import {
  type ApproveDraftRequest,
  type CreateDraftRequest,
  DeskService,
  DraftSchema,
  DraftState,
  type RefuseDraftRequest,
  type UpdateDraftRequest,
} from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { FaultSchema } from "../../proto/evenpeel/record/v1/fault_pb.ts";
import {
  ContentSchema,
  Peel,
  PlacementTableSchema,
  RecipeSchema,
  RevisionSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import { unitChoice } from "../../units/choice.ts";
import { filled, withValue } from "./content.ts";
import Draft from "./Draft.tsx";
import Recipe from "./Recipe.tsx";
import Recipes from "./Recipes.tsx";
import SecondLook from "./SecondLook.tsx";
import SecondLooks from "./SecondLooks.tsx";
import SideBySide from "./SideBySide.tsx";

// Screens load their parts, and the machine is shared.
configure({ asyncUtilTimeout: 4_000 });
vi.setConfig({ testTimeout: 20_000 });

const content = filled(
  create(ContentSchema, {
    content: {
      case: "recipe",
      value: create(RecipeSchema, {
        title: "Glimmer on cotton",
        fabric: "cotton",
        dwellSeconds: { low: 10n, set: 12n, high: 15n },
        pressTemperatureCelsius: { low: 145n, set: 150n, high: 160n },
        peel: Peel.WARM,
        prePressSeconds: 3n,
      }),
    },
  }),
);
const hotter = withValue(content, "press_temperature_celsius.set", 155n);
const record = "recipes/glimmer-cotton";
const digest = new Uint8Array(32).fill(0xab);
const draft = create(DraftSchema, {
  name: "drafts/d1",
  record,
  baseNumber: 1n,
  content,
  contentSha256: digest,
  etag: "1",
  state: DraftState.WRITING,
  author: "people/edith",
  saver: "people/edith",
});
const asked = create(DraftSchema, { ...draft, content: hotter, state: DraftState.ASKED });
const newest = { name: `${record}/revisions/1`, record, number: 1n, title: "Glimmer on cotton" };

function fault(reason: string, kind: string, words: string, fields: { path: string; words: string }[] = []) {
  return new ConnectError(words, Code.Aborted, undefined, [
    { desc: FaultSchema, value: { kind, room: "recipes", reason, words, fields } },
  ]);
}

type Fakes = {
  desk?: Partial<ServiceImpl<typeof DeskService>>;
  catalog?: Partial<ServiceImpl<typeof CatalogService>>;
};

function Signed({ children }: { children: React.ReactNode }) {
  return useSession().session.state === "signed in" ? children : null;
}

function open(at: string, who: "edith" | "arno", { desk = {}, catalog = {} }: Fakes = {}) {
  const transport = createRouterTransport(({ service }) => {
    service(AccessService, {
      whoAmI: () => ({
        person: {
          name: `people/${who}`,
          roles: [who === "edith" ? Role.OFFICE_EDITOR : Role.OFFICE_APPROVER],
        },
      }),
    });
    service(CatalogService, {
      listRecords: () => ({ records: [{ record, newest, inForce: ["EU=1"], draft: "drafts/d1" }] }),
      listRevisions: () => ({ revisions: [newest] }),
      getRevision: () => ({
        sealed: {
          name: newest.name,
          sha256: digest,
          content: toBinary(RevisionSchema, create(RevisionSchema, { record, number: 1n, content })),
        },
      }),
      ...catalog,
    });
    service(DeskService, { listDrafts: () => ({ drafts: [] }), getDraft: () => ({ draft }), ...desk });
  });
  const memory = memoryLocation({ path: at, record: true });
  const queries = new QueryClient({ defaultOptions: { queries: { retry: false } } });
  render(
    <TransportProvider transport={transport}>
      <QueryClientProvider client={queries}>
        <SessionProvider>
          <Signed>
            <Router hook={memory.hook} searchHook={memory.searchHook}>
              <Route path="/recipes" component={Recipes} />
              <Route path="/recipes/:recipe" component={Recipe} />
              <Route path="/side-by-side" component={SideBySide} />
              <Route path="/drafts/:draft" component={Draft} />
              <Route path="/second-looks" component={SecondLooks} />
              <Route path="/second-looks/:draft" component={SecondLook} />
            </Router>
          </Signed>
        </SessionProvider>
      </QueryClientProvider>
    </TransportProvider>,
  );
  return memory;
}

beforeEach(() => {
  localStorage.clear(); // what one test typed is not left for the next
  unitChoice.set({ ...unitChoice.value(), locale: "en-GB", temperature: "C" });
});
afterEach(cleanup);

describe("the places on garments", () => {
  it("are begun from the table that comes with the program", async () => {
    const createDraft = vi.fn((_: CreateDraftRequest) => ({ draft }));
    open("/recipes", "edith", { desk: { createDraft } });
    fireEvent.click(await screen.findByRole("button", { name: "Change the places" }));
    await waitFor(() => expect(createDraft).toHaveBeenCalledOnce());
    expect(createDraft.mock.calls[0]?.[0]).toMatchObject({
      record: "placements/usual",
      content: { content: { case: "placements" } },
    });
  });
  it("are changed row by row, each opened when it is needed", async () => {
    const table = create(DraftSchema, {
      ...draft,
      record: "placements/usual",
      content: create(ContentSchema, {
        content: {
          case: "placements",
          value: create(PlacementTableSchema, {
            source: "measured here",
            garments: [{ kind: "t-shirt", title: "t-shirt", sizes: [{ name: "M", widthMm: 520n }] }],
            places: [{ name: "left-chest", title: "left chest", offsetMm: 190n, garments: ["t-shirt"] }],
          }),
        },
      }),
    });
    open("/drafts/d1", "edith", { desk: { getDraft: () => ({ draft: table }) } });
    expect(await screen.findByLabelText("Where the numbers come from")).toBeTruthy();
    expect(screen.queryByLabelText("Distance to the design’s nearer edge")).toBeNull();
    const fold = screen.getByText("left-chest, left chest").closest("details");
    if (!fold) throw new Error("the place is not folded");
    fold.open = true;
    fireEvent(fold, new Event("toggle"));
    expect(await screen.findByLabelText("Distance to the design’s nearer edge")).toBeTruthy();
  });
});

describe("Recipes", () => {
  it("lists recipes with what is in force, and filters in the address", async () => {
    const memory = open("/recipes", "edith");
    expect(await screen.findByRole("link", { name: "Glimmer on cotton" })).toBeDefined();
    expect(screen.getByText("EU: revision 1")).toBeDefined();
    fireEvent.change(screen.getByLabelText("Show only those that say"), { target: { value: "nylon" } });
    expect(await screen.findByText(/None match/)).toBeDefined();
    expect(memory.history.at(-1)).toBe("/recipes?find=nylon");
  });
  it("says that there is none yet", async () => {
    open("/recipes", "edith", { catalog: { listRecords: () => ({ records: [] }) } });
    expect(await screen.findByText("No recipe yet.")).toBeDefined();
  });
  it("starts a new record under the name typed", async () => {
    const createDraft = vi.fn(() => ({ draft }));
    const memory = open("/recipes?new=prices", "edith", { desk: { createDraft } });
    fireEvent.click(await screen.findByRole("button", { name: "Start the draft" }));
    expect(await screen.findByText("There is a problem")).toBeDefined();
    fireEvent.change(screen.getByLabelText("Short name"), { target: { value: "eu-retail" } });
    fireEvent.click(screen.getByRole("button", { name: "Start the draft" }));
    await waitFor(() => expect(memory.history.at(-1)).toBe("/drafts/d1"));
    expect(createDraft.mock.calls[0]?.at(0)).toMatchObject({
      record: "prices/eu-retail",
      content: { content: { case: "priceList" } },
    });
  });
});

describe("Recipe", () => {
  it("shows stack, cycle and window to be read", async () => {
    open("/recipes/glimmer-cotton", "edith");
    expect(await screen.findByRole("heading", { level: 1, name: "Glimmer on cotton" })).toBeDefined();
    expect(screen.getByRole("list", { name: "Press cycle" }).textContent).toContain("dwell");
    expect(screen.getAllByText(/allowed 145.°C to 160.°C/)).toHaveLength(2);
  });
  it("shows the service's words when there is none", async () => {
    const getRevision = () => {
      throw fault("REVISION_NOT_FOUND", "NOT_FOUND", "There is no such recipe.");
    };
    open("/recipes/nothing", "edith", { catalog: { getRevision } });
    expect(await screen.findByText(/There is no such recipe/)).toBeDefined();
  });
});

describe("Draft", () => {
  const dwell = () => screen.findByLabelText("Dwell, to set");

  it("saves only what was changed, with Ctrl-S", async () => {
    const updateDraft = vi.fn((request: UpdateDraftRequest) => ({
      draft: { ...draft, etag: "2", ...(request.content ? { content: request.content } : {}) },
    }));
    open("/drafts/d1", "edith", { desk: { updateDraft } });
    fireEvent.change(await dwell(), { target: { value: "14" } });
    fireEvent.keyDown(window, { key: "s", ctrlKey: true });
    expect(await screen.findByText("Everything is saved.")).toBeDefined();
    const sent = updateDraft.mock.calls[0]?.[0];
    expect(sent?.updateMask?.paths).toEqual(["dwell_seconds.set"]);
    expect(sent?.etag).toBe("1");
  });
  it("keeps what can not be read and does not send it", async () => {
    const updateDraft = vi.fn(() => ({ draft }));
    open("/drafts/d1", "edith", { desk: { updateDraft } });
    fireEvent.change(await dwell(), { target: { value: "twelve" } });
    fireEvent.click(screen.getByRole("button", { name: "Save" }));
    expect(await screen.findByText("There is a problem")).toBeDefined();
    expect(updateDraft).not.toHaveBeenCalled();
    expect(((await dwell()) as HTMLInputElement).value).toBe("twelve");
  });
  it("carries trials, saves them as one field, and finds their faults by row", async () => {
    const updateDraft = vi.fn((request: UpdateDraftRequest) => ({
      draft: { ...draft, etag: "2", ...(request.content ? { content: request.content } : {}) },
    }));
    const askSecondLook = () => {
      throw fault("CONTENT_INVALID", "INVALID", "1 thing.", [
        { path: "trials[0].outcome", words: "is not chosen" },
      ]);
    };
    open("/drafts/d1", "edith", { desk: { updateDraft, askSecondLook } });
    fireEvent.click(await screen.findByRole("button", { name: "Add a trial" }));
    fireEvent.change(screen.getByLabelText("Garments pressed"), { target: { value: "12" } });
    fireEvent.click(screen.getByRole("button", { name: "Ask for a second look" }));
    expect(
      await screen.findByRole("link", { name: "Trials 1, what became of it is not chosen" }),
    ).toBeDefined();
    const sent = updateDraft.mock.calls[0]?.[0];
    expect(sent?.updateMask?.paths).toEqual(["trials"]);
    expect(sent?.content?.trials[0]?.garmentsCount).toBe(12n);
  });
  it("takes a step back with Ctrl-Z and makes it once more", async () => {
    open("/drafts/d1", "edith");
    fireEvent.change(await dwell(), { target: { value: "14" } });
    fireEvent.keyDown(window, { key: "z", ctrlKey: true });
    expect(((await dwell()) as HTMLInputElement).value).toBe("12");
    fireEvent.keyDown(window, { key: "Z", ctrlKey: true, shiftKey: true });
    expect(((await dwell()) as HTMLInputElement).value).toBe("14");
  });
  it("shows every fault at its field when asked for a second look", async () => {
    const askSecondLook = () => {
      throw fault("CONTENT_INVALID", "INVALID", "1 thing.", [{ path: "film.code", words: "is empty" }]);
    };
    open("/drafts/d1", "edith", { desk: { askSecondLook } });
    fireEvent.click(await screen.findByRole("button", { name: "Ask for a second look" }));
    expect(await screen.findByRole("link", { name: "Film code is empty" })).toBeDefined();
  });
  it("loses nothing where another person saved first", async () => {
    const theirs = {
      ...draft,
      etag: "2",
      saver: "people/bruno",
      content: withValue(withValue(content, "dwell_seconds.set", 13n), "passes", 2n),
    };
    let saved = false;
    const sent: UpdateDraftRequest[] = [];
    open("/drafts/d1", "edith", {
      desk: {
        getDraft: () => ({ draft: saved ? theirs : draft }),
        updateDraft: (request) => {
          sent.push(request);
          if (saved) return { draft: { ...theirs, etag: "3" } };
          saved = true;
          throw fault("DRAFT_MOVED_ON", "MOVED_ON", "Bruno saved first.");
        },
      },
    });
    fireEvent.change(await dwell(), { target: { value: "14" } });
    fireEvent.click(screen.getByRole("button", { name: "Save" }));
    expect(await screen.findByText(/bruno saved this draft while you were writing/)).toBeDefined();
    fireEvent.click(screen.getByLabelText(/Keep mine: 14/));
    fireEvent.click(screen.getByRole("button", { name: "Go on writing with both" }));
    expect(((await dwell()) as HTMLInputElement).value).toBe("14");
    expect((screen.getByLabelText("Passes") as HTMLInputElement).value).toBe("2");
    fireEvent.click(screen.getByRole("button", { name: "Save" }));
    await waitFor(() => expect(sent).toHaveLength(2));
    expect(sent[1]?.etag).toBe("2");
    expect(sent[1]?.updateMask?.paths).toEqual(["dwell_seconds.set"]);
  });
});

describe("Second look", () => {
  it("approves exactly the digest that was shown", async () => {
    const approveDraft = vi.fn((_: ApproveDraftRequest) => ({ revision: { ...newest, number: 2n } }));
    open("/second-looks/d1", "arno", { desk: { getDraft: () => ({ draft: asked }), approveDraft } });
    expect(await screen.findByText(/1 field differs: platen temperature, to set \+5/)).toBeDefined();
    fireEvent.click(screen.getByRole("button", { name: "Approve" }));
    expect(await screen.findByRole("heading", { level: 1, name: "It is approved." })).toBeDefined();
    expect(approveDraft.mock.calls[0]?.[0].seenSha256).toEqual(digest);
  });
  it("refuses only with a reason", async () => {
    const refuseDraft = vi.fn((_: RefuseDraftRequest) => ({ draft }));
    open("/second-looks/d1", "arno", { desk: { getDraft: () => ({ draft: asked }), refuseDraft } });
    fireEvent.click(await screen.findByRole("button", { name: "Refuse" }));
    expect(refuseDraft).not.toHaveBeenCalled();
    fireEvent.change(screen.getByLabelText("Reason, when you send it back"), {
      target: { value: "Too hot" },
    });
    fireEvent.click(screen.getByRole("button", { name: "Refuse" }));
    expect(await screen.findByRole("heading", { level: 1, name: "It is sent back." })).toBeDefined();
    expect(refuseDraft.mock.calls[0]?.[0].reason).toBe("Too hot");
  });
  it("tells the author that another person must look", async () => {
    const own = { ...asked, author: "people/arno" };
    open("/second-looks/d1", "arno", { desk: { getDraft: () => ({ draft: own }) } });
    expect(await screen.findByText("You wrote this draft, so another person must look at it.")).toBeDefined();
    expect(screen.queryByRole("button", { name: "Refuse" })).toBeNull();
  });
  it("lists what waits, or says that all is looked at", async () => {
    open("/second-looks", "arno", { desk: { listDrafts: () => ({ drafts: [asked] }) } });
    expect(await screen.findByRole("link", { name: "Look at the oldest" })).toBeDefined();
    cleanup();
    open("/second-looks", "arno");
    expect(await screen.findByText("All looked at.")).toBeDefined();
  });
});

describe("Side by side", () => {
  it("says what follows, and which machines can not hold it", async () => {
    const sealed = (number: bigint, said: typeof content) => ({
      sealed: {
        name: `${record}/revisions/${number}`,
        sha256: digest,
        content: toBinary(RevisionSchema, create(RevisionSchema, { record, number, content: said })),
      },
    });
    open(`/side-by-side?left=${record}/revisions/1&right=${record}/revisions/2`, "edith", {
      catalog: {
        getRevision: ({ number }) => sealed(number, number === 2n ? hotter : content),
        diffRevisions: () => ({
          consequences: {
            machinesCount: 24n,
            refusals: [
              { machine: "branches/hall/machines/p1", title: "Old press", words: "It ends at 150 °C." },
            ],
          },
        }),
      },
    });
    expect(
      await screen.findByText(
        /Platen temperature \+5.°C, inside the range approved before \(145 to 160.°C\)/,
      ),
    ).toBeDefined();
    expect(await screen.findByText(/1 of 24 machines can not hold it/)).toBeDefined();
    expect(screen.getByText(/Old press \(hall\): It ends at 150 °C\./)).toBeDefined();
    expect(screen.getByText(/No trial is written down with glimmer-cotton, revision 2/)).toBeDefined();
  });
  it("compares a revision with the open draft field by field", async () => {
    open("/side-by-side?left=recipes/glimmer-cotton/revisions/1&right=drafts/d1", "edith", {
      desk: { getDraft: () => ({ draft: asked }) },
    });
    const table = await screen.findByRole("table");
    expect(
      within(table).getByRole("row", { name: /Platen temperature, to set 150.°C 155.°C \+5.°C/ }),
    ).toBeDefined();
  });
});
