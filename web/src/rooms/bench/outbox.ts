// The outbox: what was done is written here first, then sent, and stays until the server confirmed or a person
// discarded it. Ids are made here, so that sending twice stores once.
import type { Fault } from "../../kit/fault.ts";
import type { Keeping } from "../../kit/Waiting.tsx";
import { tablet } from "./tablet.ts";

export type Entry = {
  /** Made on this tablet; the same id is sent every time. */
  id: string;
  /** A run for the ledger, or a length drawn from a roll. */
  kind: "run" | "draw";
  branch: string;
  /** Order that it belongs to, or empty. */
  order: string;
  /** Words for the list. */
  title: string;
  /** The message, as it will be sent. */
  bytes: Uint8Array;
  savedAt: number;
  keeping: Keeping;
  tries: number;
  /** Not before this instant. */
  nextTry: number;
  /** Why the server will never take it as it is. */
  refusal: { words: string; fields: { path: string; words: string }[]; reference: string } | null;
};

export type NewEntry = Pick<Entry, "id" | "kind" | "branch" | "order" | "title" | "bytes" | "savedAt">;

const firstWait = 5_000;
const longestWait = 5 * 60_000;
const confirmedLife = 24 * 3_600_000; // then a confirmed entry leaves the list

/** waitAfter gives how long to wait after so many tries that failed, in milliseconds. */
export const waitAfter = (tries: number): number => Math.min(longestWait, firstWait * 2 ** (tries - 1));

const listeners = new Set<() => void>();
const told = () => {
  for (const listener of listeners) listener();
};

/** onOutbox calls `listener` after every change made by this page; gives back the way to stop. */
export function onOutbox(listener: () => void): () => void {
  listeners.add(listener);
  return () => listeners.delete(listener);
}

/** entriesOf lists a branch's entries, oldest first. */
export async function entriesOf(branch: string): Promise<Entry[]> {
  const all = await (await tablet()).getAll("outbox");
  return all.filter((entry) => entry.branch === branch).toSorted((a, b) => a.savedAt - b.savedAt);
}

/** saveEntries puts entries into the outbox, all or none; an entry with a known id takes its place, to be sent anew. */
export async function saveEntries(entries: readonly NewEntry[]): Promise<void> {
  const write = (await tablet()).transaction("outbox", "readwrite");
  for (const entry of entries)
    await write.store.put({ ...entry, keeping: "on this tablet", tries: 0, nextTry: 0, refusal: null });
  await write.done;
  told();
}

/** discard forgets an entry for good. */
export async function discard(id: string): Promise<void> {
  await (await tablet()).delete("outbox", id);
  told();
}

type Drain = {
  branch: string;
  /** Sends one entry; throws a Fault. */
  send: (entry: Entry) => Promise<void>;
  now: () => number;
  /** A person asked: do not wait for the back-off, and try refused ones again. */
  asked?: boolean;
};

/** drain sends what is due, one after the other. Only one page at a time drains. */
export async function drain({ branch, send, now, asked = false }: Drain): Promise<void> {
  await alone(async () => {
    for (const entry of await entriesOf(branch)) {
      if (entry.keeping === "confirmed") {
        if (now() - entry.nextTry > confirmedLife) await discard(entry.id);
        continue;
      }
      if (!asked && (entry.refusal || entry.nextTry > now())) continue;
      await change(entry, { keeping: "sent" });
      try {
        await send(entry);
        await change(entry, { keeping: "confirmed", refusal: null, nextTry: now() });
      } catch (error) {
        const fault = error as Fault;
        const tries = entry.tries + 1;
        const back = { keeping: "on this tablet", tries, nextTry: now() + waitAfter(tries) } as const;
        if (!isPermanent(fault)) {
          await change(entry, back);
          if (fault.kind !== "BROKEN") return; // what holds one back holds the next back too
          continue;
        }
        const { words, fields, reference } = fault;
        await change(entry, { ...back, refusal: { words, fields: [...fields], reference } });
      }
    }
  });
}

/** isPermanent says whether the same entry will be refused every time. */
export function isPermanent(fault: Fault): boolean {
  switch (fault.kind) {
    case "UNREACHED":
    case "UNAVAILABLE":
    case "BROKEN":
    case "NOT_SIGNED_IN":
      return false;
    default:
      return true;
  }
}

async function change(entry: Entry, to: Partial<Entry>): Promise<void> {
  const write = (await tablet()).transaction("outbox", "readwrite");
  // Somebody may have discarded or corrected it meanwhile: theirs stays.
  const now = await write.store.get(entry.id);
  if (now && now.savedAt === entry.savedAt) await write.store.put({ ...now, ...to });
  await write.done;
  told();
}

let line: Promise<void> = Promise.resolve();

async function alone(work: () => Promise<void>): Promise<void> {
  // Without TLS a browser has no locks: then only this page is kept from draining twice at once. Ids make it harmless.
  const turn = line.then(() => (navigator.locks ? navigator.locks.request("evenpeel:outbox", work) : work()));
  line = turn.catch(() => undefined);
  await turn;
}
