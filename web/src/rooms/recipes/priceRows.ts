// Price rows: the grids of a price list as rows of a spreadsheet, read in this person's numbers, and written the same.
import type { Numbers } from "../../kit/csv.ts";
import type { PriceList } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { minorDigits, parseMoney } from "../../units/money.ts";
import { parseNumber } from "../../units/numbers.ts";
import { fromShown, type Shown, toShown } from "../../units/quantities.ts";
import { readLines } from "./readCsv.ts";

export type Grid = "films" | "garments";

export type PriceRow = {
  line: number;
  /** Code of the film or garment. */
  code: string;
  /** From which length this price holds; 0 for garments. */
  fromMm: bigint;
  /** Name of the garment; null where the rows do not say it. */
  title: string | null;
  priceMinor: bigint;
  /** What it costs; null where the rows do not say it. */
  costMinor: bigint | null;
};

export type RowFault = { line: number; column: string; words: string };
export type PriceRows = { rows: readonly PriceRow[]; faults: readonly RowFault[] };

/** How numbers are written here: the list's currency, the person's locale and unit of length. */
export type Written = { currency: string; locale: string; length: Shown };

type Column = "code" | "from" | "title" | "price" | "cost";
type Named = { column: Column; words: string; known: RegExp; optional?: true };

/** columnsOf names the columns of a grid, in the order in which they are written. */
export function columnsOf(grid: Grid, { currency, length }: Written): Named[] {
  const price = { column: "price", known: /^price/i } as const;
  const cost = { column: "cost", known: /^cost/i, optional: true } as const;
  return grid === "films"
    ? [
        { column: "code", words: "Film code", known: /^film/i },
        { column: "from", words: `From length (${length.symbol})`, known: /^from/i },
        { ...price, words: `Price of a metre (${currency})` },
        { ...cost, words: `Cost of a metre (${currency})` },
      ]
    : [
        { column: "code", words: "Garment code", known: /^garment/i },
        { column: "title", words: "Name", known: /^name/i, optional: true },
        { ...price, words: `Price each (${currency})` },
        { ...cost, words: `Cost each (${currency})` },
      ];
}

/** readRows reads pasted text or a file. Every fault is listed; a row with one is not among the rows. */
export function readRows(grid: Grid, text: string, written: Written): PriceRows {
  const read = readLines(text);
  if (!read.ok) return { rows: [], faults: [{ line: 0, column: "", words: read.words }] };
  const columns = columnsOf(grid, written);
  const faults: RowFault[] = [];
  const [head] = read.lines;
  const headed = head !== undefined && columns[0]?.known.test(head.cells[0] ?? "") && !hasNumber(head.cells);
  const order = headed ? namedBy(head.cells, columns, written, faults) : columns;
  const rows: PriceRow[] = [];
  const seen = new Map<string, number>();
  const costs = new Map<string, bigint>();
  for (const { line, cells } of read.lines.slice(headed ? 1 : 0)) {
    const before = faults.length;
    const bad = (column: string, words: string) => faults.push({ line, column, words });
    const row: PriceRow = { line, code: "", fromMm: 0n, title: null, priceMinor: 0n, costMinor: null };
    if (cells.slice(order.length).some((cell) => cell !== ""))
      bad("", `has ${cells.length} cells; ${order.length} are known.`);
    for (const [at, named] of order.entries()) {
      if (!named) continue;
      const cell = cells[at] ?? "";
      if (cell === "") {
        if (!named.optional) bad(named.words, "is empty.");
        continue;
      }
      const wrong = take(row, named.column, cell, written);
      if (wrong) bad(named.words, wrong);
    }
    const key = `${row.code}\t${row.fromMm}`;
    const same = seen.get(key);
    if (faults.length === before && same !== undefined)
      bad("", `says the same as line ${same}: which holds?`);
    const cost = costs.get(row.code);
    if (grid === "films" && row.costMinor !== null && cost !== undefined && cost !== row.costMinor)
      bad("Cost", "differs from the cost of the same film in another row.");
    if (faults.length > before) continue;
    seen.set(key, line);
    if (row.costMinor !== null) costs.set(row.code, row.costMinor);
    rows.push(row);
  }
  if (read.lines.length === (headed ? 1 : 0) && text.trim() !== "")
    faults.push({ line: 1, column: "", words: "There is no row below the heading." });
  return { rows, faults };
}

const hasNumber = (cells: readonly string[]) =>
  cells.slice(1).some((cell) => /^[\d.,\s]+$/.test(cell) && /\d/.test(cell));

/** namedBy puts the columns in the order of the heading. A heading that is not known is a fault, never a guess. */
function namedBy(
  cells: readonly string[],
  columns: readonly Named[],
  { currency, length }: Written,
  faults: RowFault[],
): (Named | null)[] {
  const bad = (column: string, words: string) => faults.push({ line: 1, column, words });
  const order = cells.map((cell) => {
    const named = columns.find((one) => one.known.test(cell)) ?? null;
    if (!named && cell !== "")
      bad(cell, `is no column here. There are: ${columns.map((one) => one.words).join(", ")}.`);
    const unit = /\(([^)]+)\)\s*$/.exec(cell)?.[1];
    const own = named?.column === "from" ? length.symbol : currency;
    if (named && unit && (named.column === "from" || named.column === "price" || named.column === "cost"))
      if (unit.toLowerCase() !== own.toLowerCase())
        bad(cell, `is in ${unit}; here it must be in ${own}. Change the unit under Settings, or the file.`);
    return named;
  });
  for (const named of columns)
    if (!named.optional && !order.includes(named)) bad(named.words, "is missing in the heading.");
  return order;
}

/** take reads one cell into the row; gives what is wrong, or nothing. */
function take(row: PriceRow, column: Column, cell: string, { currency, locale, length }: Written): string {
  const sign = new Intl.NumberFormat(locale).format(1.5).charAt(1);
  const unreadable = `“${cell}” can not be read as one number; the decimal sign here is “${sign}”.`;
  switch (column) {
    case "code":
      row.code = cell;
      return /^[a-z0-9][a-z0-9-]*$/.test(cell) ? "" : `“${cell}” must be small letters, digits and hyphens.`;
    case "title":
      row.title = cell;
      return "";
    case "from": {
      const read = parseNumber(cell, locale);
      if (!read.ok) return unreadable;
      const { kept, exact } = fromShown(read.value, length);
      if (read.value < 0) return "must be 0 or more.";
      if (!exact && length.symbol === "m") return `“${cell}” is finer than a millimetre.`;
      row.fromMm = BigInt(kept);
      return "";
    }
    default: {
      const read = parseMoney(cell, currency, locale);
      if (!read.ok)
        return read.why === "too fine" ? `“${cell}” is finer than the smallest coin.` : unreadable;
      if (read.money.minor < 0n) return "must be 0 or more.";
      if (column === "price") row.priceMinor = read.money.minor;
      else row.costMinor = read.money.minor;
      return "";
    }
  }
}

/** numbersOf writes a grid as rows that readRows reads back to the same. */
export function numbersOf(grid: Grid, list: PriceList, written: Written): Numbers {
  const digits = minorDigits(written.currency);
  const money = (minor: bigint) => Number(minor) / 10 ** digits;
  const columns = columnsOf(grid, written).map(({ column, words }) => ({
    words,
    ...(column === "price" || column === "cost" ? { digits } : {}),
    ...(column === "from" ? { digits: 3 } : {}),
  }));
  const rows =
    grid === "films"
      ? list.filmPrices.flatMap(({ film, breaks, costPerMetreMinor }) =>
          breaks.map(({ fromMm, perMetreMinor }) => [
            film,
            toShown(Number(fromMm), written.length),
            money(perMetreMinor),
            costPerMetreMinor > 0n ? money(costPerMetreMinor) : null,
          ]),
        )
      : list.garments.map(({ garment, title, eachMinor, costMinor }) => [
          garment,
          title,
          money(eachMinor),
          costMinor > 0n ? money(costMinor) : null,
        ]);
  return { columns, rows };
}
