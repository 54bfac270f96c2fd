import { describe, expect, it } from "vitest";
import { csvOf, type Numbers } from "./csv.ts";

const rfc = "RFC 4180 (2005), section 2";
const ours = "ours: a cell that a spreadsheet would run is made plain text";

const one = (cell: string | number | bigint | null): Numbers => ({
  columns: [{ words: "a", digits: 1 }],
  rows: [[cell]],
});

describe("for machines", () => {
  const rows: { name: string; cell: string | number | bigint | null; line: string; source: string }[] = [
    { name: "plain words", cell: "Harbour St", line: "Harbour St", source: `${rfc}, rule 5` },
    { name: "a comma", cell: "a,b", line: '"a,b"', source: `${rfc}, rule 6` },
    { name: "a line break", cell: "a\r\nb", line: '"a\r\nb"', source: `${rfc}, rule 6` },
    { name: "a double quote", cell: 'a"b', line: '"a""b"', source: `${rfc}, rule 7` },
    {
      name: "a number with all its digits",
      cell: 1234.5678,
      line: "1234.5678",
      source: "ours: machines get every digit",
    },
    { name: "a whole number beyond 2^53", cell: 9007199254740993n, line: "9007199254740993", source: "ours" },
    { name: "nothing", cell: null, line: "", source: `${rfc}, rule 4` },
    { name: "a formula", cell: "=1+1", line: "'=1+1", source: ours },
    { name: "an at sign", cell: "@a", line: "'@a", source: ours },
    { name: "a negative number as text", cell: "-3.5", line: "-3.5", source: ours },
  ];
  it.each(rows)("$name ($source)", ({ cell, line, source }) => {
    expect(source).not.toBe("");
    expect(csvOf(one(cell), "machines")).toBe(`a\r\n${line}\r\n`);
  });
});

describe("for a spreadsheet here", () => {
  it("uses the decimal sign and separator of the language, a byte-order mark, and the digits shown", () => {
    const numbers: Numbers = {
      columns: [{ words: "Branch" }, { words: "Reprints (%)", digits: 1 }],
      rows: [["Hafen; Nord", 2.84]],
    };
    expect(csvOf(numbers, { locale: "de-DE" })).toBe('\ufeffBranch;Reprints (%)\r\n"Hafen; Nord";2,8\r\n');
    expect(csvOf(numbers, { locale: "en-GB" })).toBe('\ufeffBranch,Reprints (%)\r\n"Hafen; Nord",2.8\r\n');
  });
  it("writes no grouping that could be read as a separator", () => {
    expect(csvOf(one(1_234_567.25), { locale: "fr-FR" })).toBe("\ufeffa\r\n1234567,3\r\n");
  });
});
