// Fields is how the screens of this room read and write a record: one row a field, in the order of the page.
// The draft, the side by side and the read view are drawn from the same rows, so none of them can forget a field.
import type { Message } from "@bufbuild/protobuf";
import type { Option } from "../../kit/Field.tsx";
import type { QuantityName } from "../../units/quantities.ts";

type As =
  | { as: "quantity"; quantity: QuantityName }
  /** A whole number of things. */
  | { as: "count" }
  /** Whole thousandths, typed with up to three digits after the decimal sign. */
  | { as: "thousandths" }
  /** Minor units of the list's currency. */
  | { as: "money" }
  | { as: "words"; lines?: number }
  /** Several texts, one a line. */
  | { as: "lines" }
  | { as: "yes" }
  | { as: "day" }
  | { as: "choice"; options: readonly Option<string>[] }
  /** A number of an enum. */
  | { as: "kind"; options: readonly Option<string>[] }
  /** Folded rows show their first two words until they are opened. */
  | { as: "rows"; columns: readonly Field[]; blank: () => Message; one: string; folded?: true };

export type Field = {
  /** Path inside the record, as the update mask and the server's faults write it: "dwell_seconds.set". */
  path: string;
  words: string;
  group: string;
  hint?: string;
  /** The value of a window: its limits stand at the same path with .low and .high. */
  window?: string;
  /** May be empty or nothing. */
  optional?: true;
} & As;

const local = (part: string) => part.replace(/_(\w)/g, (_, letter: string) => letter.toUpperCase());

/** valueAt reads the value at a path; undefined where a message on the way is missing. */
export function valueAt(record: object | undefined, path: string): unknown {
  let at: unknown = record;
  for (const part of path.split(".")) {
    if (typeof at !== "object" || at === null) return undefined;
    at = (at as Record<string, unknown>)[local(part)];
  }
  return at;
}

/** put writes the value at a path in place. The messages on the way must be there (see filled). */
export function put(record: object, path: string, value: unknown): void {
  const parts = path.split(".");
  const last = parts.pop() ?? "";
  const holder = parts.length === 0 ? record : valueAt(record, parts.join("."));
  (holder as Record<string, unknown>)[local(last)] = value;
}

/** same compares two values of a field, whatever they hold. */
export function same(a: unknown, b: unknown): boolean {
  if (a === b) return true;
  if (typeof a !== "object" || typeof b !== "object" || a === null || b === null) return false;
  const [left, right] = [a as Record<string, unknown>, b as Record<string, unknown>];
  const keys = Object.keys(left).filter((key) => key !== "$typeName" && key !== "$unknown");
  const others = Object.keys(right).filter((key) => key !== "$typeName" && key !== "$unknown");
  return keys.length === others.length && keys.every((key) => same(left[key], right[key]));
}

/** fieldFor finds the field that a fault's path speaks of: itself, the list it stands in, or the first one inside it. */
export function fieldFor(fields: readonly Field[], path: string): Field | undefined {
  const within = (inner: string, outer: string) =>
    inner === outer || inner.startsWith(`${outer}.`) || inner.startsWith(`${outer}[`);
  return (
    fields.find((field) => within(path, field.path)) ??
    fields.find((field) => within(field.path, path) || field.path.startsWith(`${path}_`))
  );
}
