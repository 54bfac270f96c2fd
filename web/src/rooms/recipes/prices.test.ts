import { create } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import { csvOf } from "../../kit/csv.ts";
import { PriceListSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { quantities } from "../../units/quantities.ts";
import { isChange, priceChanges, withRows } from "./priceChanges.ts";
import { numbersOf, readRows, type Written } from "./priceRows.ts";
import { readLines } from "./readCsv.ts";

const german: Written = { currency: "EUR", locale: "de-DE", length: quantities.rollLength.mm };
const british: Written = { ...german, currency: "GBP", locale: "en-GB" };
const list = create(PriceListSchema, {
  currencyCode: "EUR",
  filmPrices: [
    {
      film: "soft",
      costPerMetreMinor: 400n,
      breaks: [
        { fromMm: 0n, perMetreMinor: 1_250n },
        { fromMm: 5_500n, perMetreMinor: 1_000n },
      ],
    },
  ],
  garments: [{ garment: "tee-basic", title: 'Tee; "basic"', eachMinor: 700n, costMinor: 300n }],
});

describe("lines", () => {
  it.each([
    {
      source: "RFC 4180 (2005), 2.6 and 2.7",
      text: 'a,"b,""c""\r\nd",e\r\nf,g,h',
      cells: ["a", 'b,"c"\r\nd', "e"],
    },
    { source: "RFC 4180 (2005), 2.2: the last line may end without a break", text: "a,b", cells: ["a", "b"] },
    { source: "common practice of spreadsheets, no source", text: "a\tb;c\n", cells: ["a", "b;c"] },
  ])("$source", ({ text, cells }) => {
    const read = readLines(text);
    expect(read.ok && read.lines[0]?.cells).toEqual(cells);
  });
  it("counts the lines as a person does and refuses an open quotation mark", () => {
    const read = readLines('a,"x\ny"\n\nb,c');
    expect(read.ok && read.lines.map(({ line }) => line)).toEqual([1, 4]);
    expect(readLines('a,"b')).toEqual({
      ok: false,
      words: "Line 1 opens a quotation mark that is never closed.",
    });
  });
});

describe("price rows", () => {
  it("reads the person's own decimal sign", () => {
    const { rows, faults } = readRows("films", "soft\t5,5\t9,90\t4,00", german);
    expect(faults).toEqual([]);
    expect(rows).toMatchObject([{ code: "soft", fromMm: 5_500n, priceMinor: 990n, costMinor: 400n }]);
    expect(readRows("films", "soft,5.5,9.90", british).rows).toMatchObject([
      { fromMm: 5_500n, priceMinor: 990n },
    ]);
  });
  it("lists every fault with its line and column, and takes over no row that has one", () => {
    const text =
      "Film code;From length (m);Price of a metre (EUR)\nsoft;0;12,505\nsoft;x;1\nSoft;1;1\nsoft;2;3;;9\nok;0;1\nok;0;2";
    const { rows, faults } = readRows("films", text, german);
    expect(rows.map(({ code }) => code)).toEqual(["ok"]);
    expect(faults.map(({ line, column }) => [line, column])).toEqual([
      [2, "Price of a metre (EUR)"],
      [3, "From length (m)"],
      [4, "Film code"],
      [5, ""],
      [7, ""],
    ]);
  });
  it("refuses another currency or unit in the heading, and columns it does not know", () => {
    const faults = (head: string) =>
      readRows("films", `${head}\nsoft;0;1`, german).faults.map(({ words }) => words);
    expect(faults("Film code;From length (m);Price of a metre (GBP)")[0]).toContain("must be in EUR");
    expect(faults("Film code;From length (ft);Price of a metre (EUR)")[0]).toContain("must be in m");
    expect(faults("Film code;Colour;Price of a metre (EUR)")).toEqual([
      expect.stringContaining("is no column here"),
      "is missing in the heading.",
    ]);
  });
  it.each([
    ["films", german],
    ["garments", german],
    ["films", british],
    ["garments", british],
    ["films", { ...british, length: quantities.rollLength.in }],
  ] as const)("%s written as CSV are read back to the same (%o)", (grid, written) => {
    const text = csvOf(numbersOf(grid, list, written), { locale: written.locale });
    const { rows, faults } = readRows(grid, text, written);
    expect(faults).toEqual([]);
    expect(priceChanges(grid, list, withRows(list, grid, rows, "replace")).filter(isChange)).toEqual([]);
  });
  it("changes what is named and leaves or takes out the rest, as asked", () => {
    const { rows } = readRows("films", "soft;0;11,00\nglow;0;20", german);
    const changed = priceChanges("films", list, withRows(list, "films", rows, "change")).filter(isChange);
    expect(changed.map(({ code, before, after }) => [code, before?.price, after?.price])).toEqual([
      ["soft", 1_250n, 1_100n],
      ["glow", undefined, 2_000n],
    ]);
    const replaced = priceChanges("films", list, withRows(list, "films", rows, "replace")).filter(isChange);
    expect(replaced.at(-1)).toMatchObject({ code: "soft", fromMm: 5_500n, after: null });
    expect(list.filmPrices[0]?.breaks[0]?.perMetreMinor, "the list handed in stays").toBe(1_250n);
  });
});
