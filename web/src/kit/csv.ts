// Numbers of a picture as a file. Two kinds: for a spreadsheet here (its separator, its decimal sign, a byte-order
// mark), or for machines (RFC 4180: comma, CRLF, point, units in the header).

export type Cell = string | number | bigint | null;

export type NumberColumn = {
  /** Heading, with the unit where there is one: "Reprints", "Film drawn (m²)". */
  words: string;
  /** Digits after the decimal sign in the table and in the spreadsheet; machines get every digit. */
  digits?: number;
};

export type Numbers = { columns: readonly NumberColumn[]; rows: readonly (readonly Cell[])[] };

export type CsvFor = "machines" | { locale: string };

/** csvOf writes the numbers as text. Words that a spreadsheet would run as a formula get an apostrophe before them. */
export function csvOf(numbers: Numbers, readers: CsvFor): string {
  const decimal = readers === "machines" ? "." : decimalSign(readers.locale);
  const separator = readers !== "machines" && decimal === "," ? ";" : ",";
  const lines = [numbers.columns.map((column) => text(column.words, separator))];
  for (const row of numbers.rows)
    lines.push(
      row.map((cell, at) => {
        if (cell === null) return "";
        if (typeof cell === "string") return text(cell, separator);
        return numeral(cell, readers, numbers.columns[at]?.digits).replace(".", decimal);
      }),
    );
  const mark = readers === "machines" ? "" : "\ufeff";
  return `${mark}${lines.map((line) => line.join(separator)).join("\r\n")}\r\n`;
}

function numeral(value: number | bigint, readers: CsvFor, digits: number | undefined): string {
  if (typeof value === "bigint") return String(value);
  if (!Number.isFinite(value)) return "";
  return readers === "machines" || digits === undefined ? String(value) : value.toFixed(digits);
}

const formula = /^[=+\-@\t\r]/;
const plainNumber = /^-?\d+([.,]\d+)?$/;

function text(words: string, separator: string): string {
  const safe = formula.test(words) && !plainNumber.test(words) ? `'${words}` : words;
  const quoted = safe.includes('"') || safe.includes(separator) || /[\r\n,;]/.test(safe);
  return quoted ? `"${safe.replaceAll('"', '""')}"` : safe;
}

function decimalSign(locale: string): string {
  return (
    new Intl.NumberFormat(locale).formatToParts(1.5).find((part) => part.type === "decimal")?.value ?? "."
  );
}
