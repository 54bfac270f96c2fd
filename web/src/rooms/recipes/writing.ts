// Writing puts field values and their differences into words, in this person's units.
import type { Units } from "../../kit/choices.ts";
import { DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showMoney } from "../../units/money.ts";
import type { Kept, QuantityName } from "../../units/quantities.ts";
import { currencyIn, inside, valueIn } from "./content.ts";
import { type Field, same, valueAt } from "./fields.ts";

const none = "not stated";

/** writeValue writes one value; lists take a line each. */
export function writeValue(field: Field, value: unknown, units: Units, currency: string): string {
  if (value === undefined || value === "") return none;
  switch (field.as) {
    case "quantity":
      return units.show(field.quantity, kept(value));
    case "count":
      return units.count(value as bigint);
    case "thousandths":
      return units.number(Number(value as bigint) / 1000, 3);
    case "money":
      return showMoney({ minor: value as bigint, currency }, units.locale);
    case "yes":
      return value ? "yes" : "no";
    case "lines":
      return (value as string[]).join("\n") || none;
    case "choice":
    case "kind":
      return (
        field.options.find((option) => option.value === String(value))?.words ??
        (String(value) === "0" ? none : String(value))
      );
    case "rows":
      return (
        (value as object[])
          .map((row) =>
            field.columns
              .map((column) => writeValue(column, valueAt(row, column.path), units, currency))
              .join(", ")
              .replaceAll("\n", "; "),
          )
          .join("\n") || none
      );
    default:
      return String(value);
  }
}

// The brand of a quantity can not be told from its name at run time; the table of fields pairs them.
const kept = (value: unknown) => Number(value as bigint) as Kept[QuantityName];

/** writeChange says by how much a value changed: "+5 °C", "added", "changed". */
export function writeChange(
  field: Field,
  before: unknown,
  after: unknown,
  units: Units,
  currency: string,
): string {
  if (same(before, after)) return "";
  const empty = (value: unknown) =>
    value === undefined || value === "" || (Array.isArray(value) && value.length === 0);
  if (empty(before)) return "added";
  if (empty(after)) return "taken out";
  const by = typeof before === "bigint" && typeof after === "bigint" ? after - before : 0n;
  if (by !== 0n && field.as === "quantity") return units.change(field.quantity, kept(by));
  if (by !== 0n && field.as === "money")
    return (by > 0n ? "+" : "") + showMoney({ minor: by, currency }, units.locale);
  if (by !== 0n && field.as === "count") return (by > 0n ? "+" : "−") + units.count(by < 0n ? -by : by);
  if (field.as === "yes") return after ? "now yes" : "no longer";
  return "changed";
}

export type Difference = {
  field: Field;
  left: string;
  right: string;
  /** Empty where both say the same. */
  change: string;
};

/** differences writes two contents of one kind field by field. */
export function differences(left: Content, right: Content, units: Units): Difference[] {
  return inside(right).fields.map((field) => {
    const [before, after] = [valueIn(left, field.path), valueIn(right, field.path)];
    return {
      field,
      left: writeValue(field, before, units, currencyIn(left)),
      right: writeValue(field, after, units, currencyIn(right)),
      change: writeChange(field, before, after, units, currencyIn(right)),
    };
  });
}

/** isText tells the fields that people write sentences in; their difference is shown word by word. */
export const isText = (field: Field): boolean =>
  (field.as === "words" && (field.lines ?? 1) > 1) || field.as === "lines" || isWords(field);

const isWords = (field: Field): boolean =>
  field.as === "rows" && field.columns.some((column) => column.path === "text");

/** inOneSentence sums up what differs, or says that nothing does. */
export function inOneSentence(rows: readonly Difference[]): string {
  const changed = rows.filter((row) => row.change !== "");
  if (changed.length === 0) return "No difference: both say the same.";
  const named = changed.slice(0, 3).map((row) => `${row.field.words.toLowerCase()} ${row.change}`);
  const more = changed.length - named.length;
  const fields = changed.length === 1 ? "1 field differs" : `${changed.length} fields differ`;
  return `${fields}: ${named.join("; ")}${more > 0 ? `; and ${more} more` : ""}.`;
}

/** shortHash writes the first eight characters of a digest: enough to read out, never to decide by. */
export function shortHash(digest: Uint8Array): string {
  return [...digest.slice(0, 4)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}
export const draftStateWords: Record<DraftState, string> = {
  [DraftState.UNSPECIFIED]: "being written",
  [DraftState.WRITING]: "being written",
  [DraftState.ASKED]: "waits for a second look",
  [DraftState.REFUSED]: "sent back",
  [DraftState.APPROVED]: "approved",
  [DraftState.DISCARDED]: "discarded",
};
