import { create, type DescMessage } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import type { Units } from "../../kit/choices.ts";
import { ContentSchema, Peel, RecipeSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { formatCount, formatNumber } from "../../units/numbers.ts";
import { show, showChange, showParts, showRange } from "../../units/show.ts";
import {
  blank,
  type Case,
  changedPaths,
  clash,
  evidence,
  filled,
  kinds,
  withoutEmptyLines,
  withPaths,
  withValue,
} from "./content.ts";
import { faultsOfDraft, inPageWords } from "./faults.ts";
import type { Field } from "./fields.ts";
import { differences, inOneSentence } from "./writing.ts";

const choice = {
  locale: "en-GB",
  temperature: "C",
  pressure: "bar",
  length: "mm",
  force: "gf",
  speed: "mm/s",
} as const;
const units: Units = {
  choice,
  locale: "en-GB",
  show: (quantity, kept) => show(quantity, kept, choice),
  parts: (quantity, kept) => showParts(quantity, kept, choice),
  range: (quantity, low, high) => showRange(quantity, low, high, choice),
  change: (quantity, by) => showChange(quantity, by, choice),
  number: (value, digits) => formatNumber(value, "en-GB", digits),
  count: (value) => formatCount(value, "en-GB"),
};

const recipe = filled(
  create(ContentSchema, {
    content: {
      case: "recipe",
      value: create(RecipeSchema, {
        title: "Glimmer on cotton",
        dwellSeconds: { low: 10n, set: 12n, high: 15n },
        pressTemperatureCelsius: { low: 145n, set: 150n, high: 160n },
        peel: Peel.WARM,
        coverSheet: true,
      }),
    },
  }),
);

/** leavesOf lists every path to a value in a message, lists taken whole. */
function leavesOf(schema: DescMessage): string[] {
  return schema.fields.flatMap((field) =>
    field.fieldKind === "message"
      ? leavesOf(field.message).map((path) => `${field.name}.${path}`)
      : [field.name],
  );
}
const columnsOf = (field: Extract<Field, { as: "rows" }>) =>
  field.columns.map((column) => column.path).toSorted();

describe("the fields of each kind of record", () => {
  it.each(Object.keys(kinds) as Case[])(
    "%s has a row for every value of its message and no other",
    (kind) => {
      const { schema, fields } = kinds[kind];
      // Trials stand beside a recipe, in the content.
      const own = fields.map((field) => field.path).filter((path) => path !== evidence);
      expect(own.toSorted()).toEqual(leavesOf(schema).toSorted());
    },
  );
  it("has a column for every value of a row", () => {
    const rows = Object.values(kinds).flatMap(({ schema, fields }) =>
      fields.flatMap((field) => (field.as === "rows" ? [{ schema, field }] : [])),
    );
    expect(rows.length).toBeGreaterThan(3);
    for (const { schema, field } of rows) {
      const holder = field.path === evidence ? ContentSchema : schema;
      const list = holder.fields.find((one) => one.name === field.path);
      const message = list?.fieldKind === "list" && list.listKind === "message" ? list.message : undefined;
      expect(columnsOf(field)).toEqual(message?.fields.map((one) => one.name).toSorted());
    }
  });
});

describe("what changed", () => {
  it("names only the changed fields, as the mask wants them", () => {
    const dwell = withValue(recipe, "dwell_seconds.set", 14n);
    expect(changedPaths(recipe, withValue(dwell, "film.colours", ["gold"]))).toEqual([
      "dwell_seconds.set",
      "film.colours",
    ]);
    expect(changedPaths(recipe, recipe)).toEqual([]);
  });
  it("keeps empty lines out of what is saved", () => {
    const typed = withValue(recipe, "advice", ["Keep seams off", ""]);
    expect(changedPaths(withValue(recipe, "advice", ["Keep seams off"]), withoutEmptyLines(typed))).toEqual(
      [],
    );
  });
  it("says the difference in words", () => {
    const after = withValue(withValue(recipe, "press_temperature_celsius.set", 155n), "cover_sheet", false);
    const rows = differences(recipe, after, units);
    expect(rows.filter((row) => row.change !== "").map((row) => row.change)).toEqual([
      "+5\u00a0°C",
      "no longer",
    ]);
    expect(inOneSentence(rows)).toMatch(/^2 fields differ: platen temperature, to set \+5.°C;/);
    expect(inOneSentence(differences(recipe, recipe, units))).toBe("No difference: both say the same.");
  });
});

describe("two people at one draft", () => {
  const theirs = withValue(withValue(recipe, "dwell_seconds.set", 13n), "title", "Theirs");
  const mine = withValue(withValue(recipe, "dwell_seconds.set", 14n), "passes", 2n);
  it("sorts what meets from what does not", () => {
    expect(clash(recipe, theirs, mine)).toEqual({
      both: ["dwell_seconds.set"],
      onlyTheirs: ["title"],
      onlyMine: ["passes"],
    });
    expect(clash(recipe, theirs, theirs).both).toEqual([]);
  });
  it("puts both together", () => {
    expect(changedPaths(theirs, withPaths(theirs, mine, ["passes"]))).toEqual(["passes"]);
  });
});

describe("faults on the page", () => {
  it("stand at their input, in the order of the page, with the field's name", () => {
    const told = faultsOfDraft(["film.code: is empty", "dwell_seconds: is too long", "elsewhere: is odd"]);
    expect(inPageWords(told, kinds.recipe.fields)).toEqual([
      { path: "dwell_seconds.low", words: "Dwell, lowest is too long" },
      { path: "film.code", words: "Film code is empty" },
      { path: "elsewhere", words: "elsewhere: is odd" },
    ]);
  });
  it("find their row and column in a list", () => {
    const told = [{ path: "film_prices[1].breaks[0].per_metre", words: "is 0" }];
    expect(inPageWords(told, kinds.priceList.fields)).toEqual([
      {
        path: "film_prices[1].breaks[0].per_metre_minor",
        words: "Film prices 2.1, price of a metre is 0",
      },
    ]);
  });
});

it("starts every kind of record blank", () => {
  for (const kind of Object.keys(kinds) as Case[]) expect(blank(kind).content.case).toBe(kind);
});
