// Keeper holds one open draft: what the service has, what is typed over it, and the way between the two. It saves by
// itself after a pause, one save at a time and always by the etag last read; where that can not be, it says why.
import { create } from "@bufbuild/protobuf";
import type { Fault } from "../../kit/fault.ts";
import { type Draft, DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { type Content, ContentSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { changedPaths, clash, filled, inside, withoutEmptyLines, withPaths } from "./content.ts";
import { type History, nothingYet, recorded, redone, settled, undone } from "./history.ts";

export const contentOf = (draft: Draft): Content => filled(draft.content ?? create(ContentSchema));

export type Keeping =
  | { state: "saved" }
  /** Typed, and saved after a pause. */
  | { state: "soon" }
  | { state: "saving" }
  | { state: "not saved"; why: string };

export type Writing = {
  held: Draft;
  typed: Content;
  reason: string;
  /** Paths whose text can not be kept, with the reason. */
  unread: ReadonlyMap<string, string>;
  history: History;
  keeping: Keeping;
  /** What another person saved first, where both changed the same field. */
  theirs: Draft | null;
  /** Why the last act failed. */
  fault: Fault | null;
  /** What happened beside the saving: "Bruno changed passes too; both are kept." */
  news: string;
};

export type Update = { content: Content; paths: string[]; etag: string; reason: string };

/** Way is how the keeper reaches the world; tests hand in their own. */
export type Way = {
  update: (update: Update) => Promise<Draft>;
  read: () => Promise<Draft>;
  faultOf: (error: unknown) => Fault;
  /** Calls back after a pause, and gives the way to stop that. */
  after: (pause: "typing" | "trying again", run: () => void) => () => void;
  /** Keeps on this device what the service does not have yet; null when it has everything. */
  remember: (unsent: { base: Draft; typed: Content; reason: string } | null) => void;
  nameOf: (person: string) => string;
};

export type Keeper = ReturnType<typeof keeperOf>;

export const closed = ({ state }: Draft): boolean =>
  state === DraftState.APPROVED || state === DraftState.DISCARDED;

/** changes gives what would be sent. The service keeps the reason that stands where an empty one is sent. */
export function changes({ held, typed, reason }: Writing) {
  const paths = changedPaths(contentOf(held), withoutEmptyLines(typed));
  return { paths, newReason: reason !== "" && reason !== held.reason };
}

export function isDirty(writing: Writing): boolean {
  const { paths, newReason } = changes(writing);
  return paths.length > 0 || newReason || writing.unread.size > 0;
}

/** keeperOf begins with the draft as it was opened, and with what this device still had unsent. */
export function keeperOf(opened: Draft, way: Way, unsent?: { typed: Content; reason: string }) {
  let now: Writing = {
    held: opened,
    typed: unsent?.typed ?? contentOf(opened),
    reason: unsent?.reason || opened.reason,
    unread: new Map(),
    history: nothingYet,
    keeping: { state: "saved" },
    theirs: null,
    fault: null,
    news: "",
  };
  const listeners = new Set<() => void>();
  let stop = () => {};
  let flight: Promise<Draft | null> | null = null;

  function become(next: Partial<Writing>) {
    now = { ...now, ...next };
    for (const told of listeners) told();
  }

  /** touched is called after every change: it plans the next save, or says why there is none. */
  function touched() {
    stop();
    if (closed(now.held)) return;
    if (!isDirty(now)) {
      way.remember(null);
      become({ keeping: { state: "saved" }, fault: null });
      return;
    }
    way.remember({ base: now.held, typed: now.typed, reason: now.reason });
    const why = hindrance();
    if (why !== "") {
      become({ keeping: { state: "not saved", why } });
      return;
    }
    become({ keeping: { state: "soon" } });
    stop = way.after("typing", () => void save(false));
  }

  /** hindrance is why nothing is saved by itself; empty where it is. */
  function hindrance(): string {
    if (now.theirs) return "choose between both sides first.";
    if (now.unread.size > 0)
      return now.unread.size === 1
        ? "1 field can not be read."
        : `${now.unread.size} fields can not be read.`;
    if (now.held.state === DraftState.ASKED)
      return "it waits for a second look. Save takes that question back.";
    return "";
  }

  /** save sends only what was changed and gives what the service then holds; null where it could not. */
  async function save(asked: boolean): Promise<Draft | null> {
    stop();
    while (flight) await flight;
    if (closed(now.held) || now.theirs || now.unread.size > 0) return null;
    if (!asked && hindrance() !== "") return null;
    if (!isDirty(now)) return now.held;
    flight = send();
    const saved = await flight;
    flight = null;
    // What was typed, or joined, while the answer was on its way is saved next.
    if (saved && isDirty(now)) touched();
    return saved;
  }

  async function send(): Promise<Draft | null> {
    const { paths } = changes(now);
    const sent = withoutEmptyLines(now.typed);
    become({ keeping: { state: "saving" } });
    try {
      const draft = await way.update({
        content: sent,
        // A mask names at least one field; where only the reason is new, it is one that stays as it is.
        paths:
          paths.length > 0
            ? paths
            : inside(sent)
                .fields.slice(0, 1)
                .map((field) => field.path),
        etag: now.held.etag,
        reason: now.reason,
      });
      const later = changedPaths(sent, withoutEmptyLines(now.typed));
      become({
        held: draft,
        typed: withPaths(contentOf(draft), now.typed, later),
        history: settled(now.history),
        keeping: { state: "saved" },
        fault: null,
      });
      if (!isDirty(now)) way.remember(null);
      return draft;
    } catch (error) {
      await failed(way.faultOf(error));
      return null;
    }
  }

  /** failed says why, brings the other side where somebody was first, and tries again where the network is away. */
  async function failed(fault: Fault) {
    if (fault.reason === "DRAFT_MOVED_ON") return movedOn();
    become({ fault, keeping: { state: "not saved", why: fault.words } });
    if (fault.kind === "UNREACHED" || fault.kind === "UNAVAILABLE") {
      stop();
      stop = way.after("trying again", () => void save(false));
    }
  }

  async function movedOn() {
    let theirs: Draft;
    try {
      theirs = await way.read();
    } catch (error) {
      const fault = way.faultOf(error);
      become({ fault, keeping: { state: "not saved", why: fault.words } });
      return;
    }
    const mine = withoutEmptyLines(now.typed);
    const { both, onlyMine, onlyTheirs } = clash(contentOf(now.held), contentOf(theirs), mine);
    if (both.length > 0) {
      become({
        theirs,
        fault: null,
        keeping: { state: "not saved", why: "choose between both sides first." },
      });
      return;
    }
    // Changes that do not meet are kept from both.
    const words = inside(mine)
      .fields.filter((field) => onlyTheirs.includes(field.path))
      .map((field) => field.words.toLowerCase());
    become({
      held: theirs,
      typed: withPaths(contentOf(theirs), now.typed, onlyMine),
      fault: null,
      news: `${way.nameOf(theirs.saver)} changed ${words.join(", ") || "the reason"} too; both are kept.`,
    });
    touched();
  }

  function turn(back: ReturnType<typeof undone>) {
    if (!back) return;
    const unread = new Map(
      [...now.unread].filter(
        ([path]) => !back.paths.some((own) => path === own || path.startsWith(`${own}[`)),
      ),
    );
    become({ history: back.history, typed: back.content, unread, news: "" });
    touched();
  }

  if (isDirty(now)) {
    now = { ...now, news: "What you typed here and could not be saved is back." };
    touched();
  }
  return {
    value: () => now,
    listen(told: () => void) {
      listeners.add(told);
      return () => {
        listeners.delete(told);
      };
    },
    change(next: Content) {
      become({ history: recorded(now.history, now.typed, next), typed: next, news: "" });
      touched();
    },
    giveReason(reason: string) {
      become({ reason });
      touched();
    },
    /** tell says that a field's text can not be read, or that it can again. */
    tell(path: string, words: string | null) {
      if (words === null && !now.unread.has(path)) return;
      const unread = new Map(now.unread);
      if (words === null) unread.delete(path);
      else unread.set(path, words);
      become({ unread });
      touched();
    },
    undo() {
      // What can not be read was never kept: taking it back brings the value that stands.
      const last = [...now.unread.keys()].at(-1);
      if (last === undefined) return turn(undone(now.history, now.typed));
      const unread = new Map(now.unread);
      unread.delete(last);
      become({ unread });
      touched();
    },
    redo: () => turn(redone(now.history, now.typed)),
    save: () => save(true),
    /** join goes on with what was chosen from both sides. */
    join(joined: Content) {
      if (!now.theirs) return;
      const history = recorded(settled(now.history), now.typed, joined);
      become({ held: now.theirs, typed: joined, theirs: null, history: settled(history), news: "" });
      touched();
    },
    /** hold takes over a draft that another act gave back. */
    hold: (held: Draft) => become({ held, fault: null }),
    fail: (fault: Fault) => failed(fault),
    /** leave saves what is left when the page goes elsewhere. */
    leave() {
      stop();
      if (isDirty(now) && hindrance() === "") void save(false);
    },
  };
}
