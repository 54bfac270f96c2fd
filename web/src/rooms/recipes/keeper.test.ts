import { create } from "@bufbuild/protobuf";
import { beforeEach, describe, expect, it } from "vitest";
import type { Fault } from "../../kit/fault.ts";
import { type Draft, DraftSchema, DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { type Content, FilmPriceSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { blank, inside, withValue } from "./content.ts";
import { valueAt } from "./fields.ts";
import { keeperOf, type Update, type Way } from "./keeper.ts";

const draft = (content: Content, etag: string, changes: { record?: string; state?: DraftState } = {}) =>
  create(DraftSchema, {
    name: "drafts/d1",
    record: "recipes/r",
    state: DraftState.WRITING,
    ...changes,
    content,
    etag,
  });

const fault = (reason: string, kind: Fault["kind"] = "MOVED_ON"): Fault => ({
  kind,
  reason,
  room: "recipes",
  words: `words of ${reason}`,
  fields: [],
  facts: new Map(),
  reference: "",
});

let sent: Update[];
let answer: (update: Update) => Promise<Draft>;
let server: Draft;
let pending: (() => void) | null;
let remembered: unknown;
const way: Way = {
  update: (update) => {
    sent.push(update);
    return answer(update);
  },
  read: async () => server,
  faultOf: (error) => error as Fault,
  after: (_, run) => {
    pending = run;
    return () => {
      pending = null;
    };
  },
  remember: (unsent) => {
    remembered = unsent;
  },
  nameOf: () => "Bruno",
};
/** rested lets the pause pass and the answer come. */
async function rested() {
  const run = pending;
  pending = null;
  run?.();
  await new Promise((done) => setTimeout(done));
}
const first = withValue(blank("recipe"), "passes", 1n);
const saves = (update: Update) => Promise.resolve(draft(update.content, `${Number(update.etag) + 1}`));
const at = (content: Content, path: string) => valueAt(inside(content).record, path);

beforeEach(() => {
  [sent, pending, remembered, answer] = [[], null, null, saves];
});

describe("a keeper", () => {
  it("saves after a pause only what was changed, by the etag last read, and forgets the copy here", async () => {
    const keeper = keeperOf(draft(first, "1"), way);
    keeper.change(withValue(keeper.value().typed, "passes", 2n));
    expect(keeper.value().keeping.state).toBe("soon");
    expect(remembered).not.toBeNull();
    await rested();
    expect(sent).toMatchObject([{ paths: ["passes"], etag: "1" }]);
    expect([keeper.value().keeping.state, remembered]).toEqual(["saved", null]);
    keeper.change(withValue(keeper.value().typed, "passes", 3n));
    await rested();
    expect(sent[1]?.etag).toBe("2");
  });
  it("takes back one step a field and a spell of writing, and an undo is itself saved", async () => {
    const keeper = keeperOf(draft(first, "1"), way);
    for (const passes of [2n, 3n, 4n]) keeper.change(withValue(keeper.value().typed, "passes", passes));
    keeper.change(withValue(keeper.value().typed, "title", "Warm"));
    await rested();
    keeper.undo();
    expect(at(keeper.value().typed, "title")).toBe("");
    keeper.undo();
    expect(at(keeper.value().typed, "passes")).toBe(1n);
    await rested();
    expect(sent[1]).toMatchObject({ etag: "2" });
    expect(sent[1]?.paths.toSorted()).toEqual(["passes", "title"]);
    keeper.redo();
    keeper.redo();
    expect([at(keeper.value().typed, "passes"), at(keeper.value().typed, "title")]).toEqual([4n, "Warm"]);
    expect(keeper.value().history.future).toEqual([]);
  });
  it("keeps what is typed while the answer is on its way, and sends it next", async () => {
    let arrive: (draft: Draft) => void = () => {};
    answer = () => new Promise((done) => (arrive = done));
    const keeper = keeperOf(draft(first, "1"), way);
    keeper.change(withValue(keeper.value().typed, "passes", 2n));
    pending?.();
    keeper.change(withValue(keeper.value().typed, "title", "Warm"));
    answer = saves;
    arrive(draft(withValue(first, "passes", 2n), "2"));
    await new Promise((done) => setTimeout(done));
    expect(at(keeper.value().typed, "title")).toBe("Warm");
    await rested();
    expect(sent[1]).toMatchObject({ paths: ["title"], etag: "2" });
  });
  it("says why it does not save: unreadable text, a question asked, the network", async () => {
    const keeper = keeperOf(draft(first, "1"), way);
    keeper.tell("passes", "can not be read");
    expect(keeper.value().keeping).toEqual({ state: "not saved", why: "1 field can not be read." });
    keeper.undo();
    expect(keeper.value().keeping.state).toBe("saved");
    const asked = keeperOf(draft(first, "1", { state: DraftState.ASKED }), way);
    asked.change(withValue(first, "passes", 2n));
    expect(asked.value().keeping).toMatchObject({ why: expect.stringContaining("second look") });
    expect(await asked.save()).not.toBeNull();
    answer = () => Promise.reject(fault("UNREACHED", "UNREACHED"));
    keeper.change(withValue(first, "passes", 5n));
    await rested();
    expect(keeper.value().keeping).toMatchObject({ state: "not saved", why: "words of UNREACHED" });
    answer = saves;
    await rested();
    expect(keeper.value().keeping.state).toBe("saved");
  });
  it("keeps both where two people changed different fields, and asks where they met", async () => {
    const keeper = keeperOf(draft(first, "1"), way);
    server = draft(withValue(first, "title", "Theirs"), "7");
    answer = (update) => (update.etag === "7" ? saves(update) : Promise.reject(fault("DRAFT_MOVED_ON")));
    keeper.change(withValue(first, "passes", 2n));
    await rested();
    expect(keeper.value().news).toBe("Bruno changed name too; both are kept.");
    await rested();
    expect(sent[1]).toMatchObject({ paths: ["passes"], etag: "7" });
    expect(at(keeper.value().held.content as Content, "title")).toBe("Theirs");

    server = draft(withValue(first, "passes", 9n), "20");
    answer = () => Promise.reject(fault("DRAFT_MOVED_ON"));
    keeper.change(withValue(keeper.value().typed, "passes", 3n));
    await rested();
    expect(keeper.value().theirs?.etag).toBe("20");
    const before = sent.length;
    await keeper.save();
    expect(sent.length, "nothing is sent before both sides are chosen").toBe(before);
  });
  it("brings back what could not be saved, over the state it was typed on", async () => {
    const base = draft(first, "1");
    const keeper = keeperOf(base, way, { typed: withValue(first, "passes", 6n), reason: "" });
    expect(keeper.value().news).toContain("is back");
    await rested();
    expect(sent[0]).toMatchObject({ paths: ["passes"], etag: "1" });
  });
  it("makes each cell of a grid a step of its own", () => {
    const cell = (perMetreMinor: bigint, film: string) =>
      withValue(blank("priceList"), "film_prices", [
        create(FilmPriceSchema, { film, breaks: [{ perMetreMinor }] }),
      ]);
    const keeper = keeperOf(draft(cell(1n, "a"), "1", { record: "prices/p" }), way);
    keeper.change(cell(12n, "a"));
    keeper.change(cell(120n, "a"));
    keeper.change(cell(120n, "ab"));
    expect(keeper.value().history.past).toHaveLength(2);
  });
});
