import { create } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import type { Units } from "../../kit/choices.ts";
import { RecipeSchema, WindowSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { consequencesOf, pressSeconds } from "./consequences.ts";
import { textDiff } from "./textDiff.ts";

const write = (pieces: ReturnType<typeof textDiff>) =>
  pieces
    .map(({ text, kind }) => (kind === "same" ? text : kind === "added" ? `+${text}+` : `-${text}-`))
    .join("");

describe("text difference", () => {
  it.each([
    {
      source: "Wagner and Fischer, J. ACM 21 (1974): one word put in the place of another",
      before: "Not for children under 36 months.",
      after: "Not for children under 18 months.",
      says: "Not for children under -36-+18+ months.",
    },
    {
      source:
        "Hunt and McIlroy, Computing Science Technical Report 41 (1976), lines a b c d e f g and w a b x y z e",
      before: "a b c d e f g",
      after: "w a b x y z e",
      says: null,
    },
    { source: "from memory", before: "", after: "New", says: "+New+" },
    { source: "from memory", before: "Gone", after: "", says: "-Gone-" },
  ])("$source", ({ source, before, after, says }) => {
    expect(source).not.toBe("");
    const pieces = textDiff(before, after);
    const side = (out: string) =>
      pieces
        .filter(({ kind }) => kind !== out)
        .map(({ text }) => text)
        .join("");
    expect([side("added"), side("removed")]).toEqual([before, after]);
    if (says) expect(write(pieces)).toBe(says);
    // Theirs keeps a, b and e: three words.
    else
      expect(
        pieces
          .filter(({ kind }) => kind === "same")
          .flatMap(({ text }) => text.trim().split(/\s+/))
          .filter(Boolean),
      ).toEqual(["a", "b", "e"]);
  });
  it("shows texts too long for the table as replaced", () => {
    const long = "word ".repeat(2_000);
    expect(textDiff(long, `${long}more`).map(({ kind }) => kind)).toEqual(["removed", "added"]);
  });
});

const units = {
  show: (_: string, value: number) => `${value}`,
  change: (_: string, value: number) => (value > 0 ? `+${value}` : String(value)),
  range: (_: string, low: number, high: number) => `${low} to ${high}`,
} as unknown as Units;

const window = (low: bigint, set: bigint, high: bigint) => create(WindowSchema, { low, set, high });

describe("consequences", () => {
  const before = create(RecipeSchema, {
    pressTemperatureCelsius: { low: 145n, set: 150n, high: 160n },
    dwellSeconds: { low: 10n, set: 12n, high: 15n },
    prePressSeconds: 3n,
    peelWaitSeconds: 20n,
  });
  const words = (after: typeof before) => consequencesOf(before, after, units).map((one) => one.words);

  it("says whether a setting stays in the range approved before, and what it costs in time", () => {
    const after = create(RecipeSchema, {
      ...before,
      pressTemperatureCelsius: window(145n, 155n, 160n),
      secondPressSeconds: 5n,
    });
    expect(words(after)).toEqual([
      "Platen temperature +5, inside the range approved before (145 to 160).",
      "It adds 5 a garment at the press.",
    ]);
    expect(pressSeconds(after)).toBe(40n);
  });
  it("puts what leaves the range first, and tells when the range itself grows", () => {
    const after = create(RecipeSchema, {
      ...before,
      dwellSeconds: window(10n, 18n, 20n),
      peelWaitSeconds: 10n,
    });
    const found = consequencesOf(before, after, units);
    expect(found.map(({ caution }) => caution)).toEqual([true, true, false]);
    expect(found.map((one) => one.words)).toEqual([
      "Dwell +6, outside the range approved before (10 to 15).",
      "Dwell: the range grows to 10 to 20; it was 10 to 15.",
      "It saves 4 a garment at the press.",
    ]);
  });
  it("says nothing where nothing follows", () => {
    expect(words(create(RecipeSchema, { ...before, title: "Another name" }))).toEqual([]);
  });
});
