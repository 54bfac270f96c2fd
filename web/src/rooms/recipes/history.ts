// History is what can be undone in a draft: one step a field and a spell of writing, unlimited while the draft is open.
// A step keeps the values of its fields only, so that undoing it leaves alone what was changed elsewhere meanwhile.
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { changedPaths, valueIn, withValues } from "./content.ts";
import { same } from "./fields.ts";

type Step = {
  before: ReadonlyMap<string, unknown>;
  after: ReadonlyMap<string, unknown>;
  /** The one value that is being typed, down to its row; empty where more than one changed. */
  leaf: string;
};

export type History = {
  past: readonly Step[];
  future: readonly Step[];
  /** Whether the newest step still grows while the same value is being typed. */
  growing: boolean;
};

export const nothingYet: History = { past: [], future: [], growing: false };

/** recorded adds what changed between two contents, or lets the newest step grow by it. */
export function recorded(history: History, before: Content, after: Content): History {
  const paths = changedPaths(before, after);
  if (paths.length === 0) return history;
  const values = (content: Content) => new Map(paths.map((path) => [path, valueIn(content, path)]));
  const [only = ""] = paths;
  const step: Step = {
    before: values(before),
    after: values(after),
    leaf: paths.length === 1 ? leafOf(values(before).get(only), values(after).get(only), only) : "",
  };
  const newest = history.past.at(-1);
  if (history.growing && newest && step.leaf !== "" && newest.leaf === step.leaf)
    return {
      past: [...history.past.slice(0, -1), { ...newest, after: step.after }],
      future: [],
      growing: true,
    };
  return { past: [...history.past, step], future: [], growing: true };
}

/** settled ends the newest step: what is typed next is a step of its own. */
export const settled = (history: History): History =>
  history.growing ? { ...history, growing: false } : history;

type Turned = { history: History; content: Content; paths: readonly string[] };

/** undone takes the newest step back; null where there is none. */
export function undone(history: History, content: Content): Turned | null {
  const step = history.past.at(-1);
  if (!step) return null;
  return {
    history: { past: history.past.slice(0, -1), future: [step, ...history.future], growing: false },
    content: withValues(content, step.before),
    paths: [...step.before.keys()],
  };
}

/** redone makes the step taken back last once more. */
export function redone(history: History, content: Content): Turned | null {
  const [step, ...future] = history.future;
  if (!step) return null;
  return {
    history: { past: [...history.past, step], future, growing: false },
    content: withValues(content, step.after),
    paths: [...step.after.keys()],
  };
}

/** leafOf names the one value that differs inside a field: "film_prices[0].breaks[1].perMetreMinor"; "" for several. */
function leafOf(before: unknown, after: unknown, path: string): string {
  if (typeof before !== "object" || typeof after !== "object" || before === null || after === null)
    return path;
  const list = Array.isArray(before);
  const [from, to] = [before as Record<string, unknown>, after as Record<string, unknown>];
  const keys = Object.keys(to).filter((key) => key !== "$typeName" && key !== "$unknown");
  if (list && Object.keys(from).length !== keys.length) return "";
  const differ = keys.filter((key) => !same(from[key], to[key]));
  const [key = ""] = differ;
  return differ.length === 1 ? leafOf(from[key], to[key], list ? `${path}[${key}]` : `${path}.${key}`) : "";
}
