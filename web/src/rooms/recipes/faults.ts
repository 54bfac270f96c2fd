// Faults of a draft as the page shows them: at the input they belong to, with the field's name before the words.
import type { FieldFault } from "../../kit/fault.ts";
import { type Field, fieldFor } from "./fields.ts";

/** faultsOfDraft reads "path: words" as a draft lists what keeps it from being approved. */
export function faultsOfDraft(lines: readonly string[]): FieldFault[] {
  return lines.map((line) => {
    const end = line.indexOf(": ");
    return end < 0 ? { path: "", words: line } : { path: line.slice(0, end), words: line.slice(end + 2) };
  });
}

/** inPageWords puts each fault at an input of the page. A path inside a list stays where it can be found. */
export function inPageWords(faults: readonly FieldFault[], fields: readonly Field[]): FieldFault[] {
  const order = (path: string) => {
    const field = fieldFor(fields, path);
    return field ? fields.indexOf(field) : fields.length;
  };
  return faults
    .toSorted((a, b) => order(a.path) - order(b.path))
    .map(({ path, words }) => {
      const field = fieldFor(fields, path);
      if (!field) return { path, words: path === "" ? words : `${path}: ${words}` };
      if (field.as !== "rows") return { path: field.path, words: `${field.words} ${words}` };
      return columnFault(field, path, words);
    });
}

function columnFault(field: Extract<Field, { as: "rows" }>, path: string, words: string): FieldFault {
  let at: Field = field;
  let known = field.path;
  const rows: number[] = [];
  for (const [, row = "0", column = ""] of path.slice(field.path.length).matchAll(/\[(\d+)\]\.(\w+)/g)) {
    if (at.as !== "rows") break;
    const next: Field | undefined = at.columns.find(
      (one) => one.path === column || one.path.startsWith(`${column}_`),
    );
    if (!next) break;
    rows.push(Number(row) + 1);
    known = `${known}[${row}].${next.path}`;
    at = next;
  }
  const number = rows.length > 0 ? ` ${rows.join(".")}` : "";
  const name = at === field ? field.words : `${field.words}${number}, ${at.words.toLowerCase()}`;
  return { path: known, words: `${name} ${words}` };
}
