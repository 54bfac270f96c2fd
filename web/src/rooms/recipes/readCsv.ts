// Rows as a spreadsheet gives them, pasted or out of a file (RFC 4180, and the tabs of a paste).

/** Largest text that is read, in characters, and the most rows. */
export const mostCharacters = 1 << 20;
export const mostRows = 5_000;

export type Line = {
  /** As a person counts lines in the file, from 1. */
  line: number;
  cells: readonly string[];
};

export type Lines = { ok: true; lines: readonly Line[] } | { ok: false; words: string };

/** readLines splits text into cells. A tab separates where there is one, then a semicolon, then a comma. */
export function readLines(text: string): Lines {
  if (text.length > mostCharacters) return { ok: false, words: "This is more than a million characters." };
  const plain = text.replace(/^\ufeff/, "");
  const first = plain.slice(0, plain.search(/[\r\n]|$/));
  const separator = first.includes("\t") ? "\t" : first.includes(";") ? ";" : ",";
  const lines: Line[] = [];
  let cells: string[] = [];
  let cell = "";
  let quoted = false;
  let line = 1;
  let began = 1;
  const endCell = () => {
    // A spreadsheet's guard against formulas is taken off again.
    cells.push(cell.trim().replace(/^'(?=[=+\-@])/, ""));
    cell = "";
  };
  const endLine = () => {
    endCell();
    if (cells.some((one) => one !== "")) lines.push({ line: began, cells });
    cells = [];
  };
  for (let at = 0; at < plain.length; at++) {
    const sign = plain[at];
    if (sign === "\n") line += 1;
    if (quoted) {
      if (sign !== '"') cell += sign;
      else if (plain[at + 1] === '"') {
        cell += '"';
        at += 1;
      } else quoted = false;
    } else if (sign === '"' && cell.trim() === "") {
      quoted = true;
      cell = "";
    } else if (sign === separator) endCell();
    else if (sign === "\n") {
      endLine();
      began = line;
      if (lines.length > mostRows)
        return { ok: false, words: `This has more than ${mostRows} rows. Split it.` };
    } else if (sign !== "\r") cell += sign;
  }
  if (quoted) return { ok: false, words: `Line ${began} opens a quotation mark that is never closed.` };
  endLine();
  return { ok: true, lines };
}
