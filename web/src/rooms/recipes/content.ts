// Content of a draft or revision, and what changed in it.
import { clone, create, type DescMessage, type Message } from "@bufbuild/protobuf";
import {
  CareSchema,
  CertificateSchema,
  type Content,
  ContentSchema,
  FilmSchema,
  NoteSchema,
  PlacementTableSchema,
  type PriceList,
  PriceListSchema,
  type Recipe,
  RecipeSchema,
  WindowSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import { type Field, put, same, valueAt } from "./fields.ts";
import { certificateFields, noteFields, priceListFields } from "./otherFields.ts";
import { placementFields } from "./placementFields.ts";
import { recipeFields } from "./recipeFields.ts";

export type Case = "recipe" | "priceList" | "note" | "certificate" | "placements";

export type RecordKind = {
  /** First part of the record's name. */
  folder: "recipes" | "prices" | "notes" | "certificates" | "placements";
  words: string;
  schema: DescMessage;
  fields: readonly Field[];
};

export const kinds: Record<Case, RecordKind> = {
  recipe: { folder: "recipes", words: "recipe", schema: RecipeSchema, fields: recipeFields },
  priceList: { folder: "prices", words: "price list", schema: PriceListSchema, fields: priceListFields },
  note: { folder: "notes", words: "note", schema: NoteSchema, fields: noteFields },
  certificate: {
    folder: "certificates",
    words: "certificate",
    schema: CertificateSchema,
    fields: certificateFields,
  },
  placements: {
    folder: "placements",
    words: "table of places",
    schema: PlacementTableSchema,
    fields: placementFields,
  },
};

/** caseOf gives the kind of content for a record's name, "recipes/…". */
export function caseOf(record: string): Case {
  const found = (Object.keys(kinds) as Case[]).find((key) => record.startsWith(`${kinds[key].folder}/`));
  return found ?? "recipe";
}

/** blank is an empty record of that kind. */
export function blank(kind: Case): Content {
  const content = create(ContentSchema);
  content.content = { case: kind, value: create(kinds[kind].schema) } as Content["content"];
  return filled(content);
}

/** inside gives the record that the content holds, and its fields. */
export function inside(content: Content): { record: Message; fields: readonly Field[] } {
  const { case: kind, value } = content.content;
  if (kind === undefined) return { record: create(RecipeSchema), fields: [] };
  return { record: value, fields: kinds[kind].fields };
}

/** evidence is the one field that stands beside the record: trials travel with a recipe and are no setting of it. */
export const evidence = "trials";

const holderOf = (content: Content, path: string): object =>
  path === evidence ? content : inside(content).record;

/** valueIn reads the value of a field of the content. */
export const valueIn = (content: Content, path: string): unknown => valueAt(holderOf(content, path), path);

export function recipeIn(content: Content | undefined): Recipe | null {
  return content?.content.case === "recipe" ? content.content.value : null;
}

/** withList is the content with another price list in it. */
export const withList = (content: Content, list: PriceList): Content =>
  create(ContentSchema, { ...content, content: { case: "priceList", value: list } });

/** allowedIn gives what the record itself allows at a path: a setting stands within its own window. */
export function allowedIn(content: Content, path: string) {
  const { record, fields } = inside(content);
  const window = fields.find((field) => field.path === path)?.window;
  if (!window) return undefined;
  const at = (end: string) => Number(valueAt(record, path.replace(/set$/, end)) ?? 0n);
  const [low, high] = [at("low"), at("high")];
  if (low === 0 && high === 0) return undefined; // no window is written yet
  return { low, high, reason: "the lowest and the highest of this recipe" };
}

export function currencyIn(content: Content | undefined): string {
  const code = content?.content.case === "priceList" ? content.content.value.currencyCode : "";
  // Half a code is seen while it is typed; Intl takes any three letters and refuses the rest.
  return /^[A-Z]{3}$/i.test(code) ? code.toUpperCase() : "XXX";
}

/** filled is a copy in which every message on the way to a field is there. */
export function filled(content: Content): Content {
  const copy = clone(ContentSchema, content);
  const recipe = recipeIn(copy);
  if (recipe) {
    recipe.film ??= create(FilmSchema);
    recipe.film.care ??= create(CareSchema);
    recipe.cutSpeedMmPerSecond ??= create(WindowSchema);
    recipe.cutForceGrams ??= create(WindowSchema);
    recipe.bladeDepthUm ??= create(WindowSchema);
    recipe.pressTemperatureCelsius ??= create(WindowSchema);
    recipe.dwellSeconds ??= create(WindowSchema);
    recipe.pressureKpa ??= create(WindowSchema);
  }
  return copy;
}

/** withValue is a copy with one field changed. */
export const withValue = (content: Content, path: string, value: unknown): Content =>
  withValues(content, new Map([[path, value]]));

/** withValues is a copy with some fields changed. */
export function withValues(content: Content, values: ReadonlyMap<string, unknown>): Content {
  const copy = clone(ContentSchema, content);
  for (const [path, value] of values) put(holderOf(copy, path), path, value);
  return copy;
}

/** withoutEmptyLines is a copy whose lists of lines hold no empty one; they are allowed while typing only. */
export function withoutEmptyLines(content: Content): Content {
  const copy = clone(ContentSchema, content);
  const { record, fields } = inside(copy);
  for (const field of fields)
    if (field.as === "lines") {
      const lines = (valueAt(record, field.path) ?? []) as string[];
      put(
        record,
        field.path,
        lines.map((line) => line.trim()).filter((line) => line !== ""),
      );
    }
  return copy;
}

/** changedPaths lists the fields that differ: the update mask of a save. */
export function changedPaths(before: Content, after: Content): string[] {
  return inside(after)
    .fields.filter((field) => !same(valueIn(before, field.path), valueIn(after, field.path)))
    .map((field) => field.path);
}

/** withPaths is a copy of `onto` with the values of `from` at these paths. */
export function withPaths(onto: Content, from: Content, paths: readonly string[]): Content {
  const copy = clone(ContentSchema, onto);
  const source = clone(ContentSchema, from);
  for (const path of paths) put(holderOf(copy, path), path, valueIn(source, path));
  return copy;
}

export type Clash = { both: string[]; onlyTheirs: string[]; onlyMine: string[] };

/** clash sorts what two people changed since the same start. Equal changes are no clash. */
export function clash(base: Content, theirs: Content, mine: Content): Clash {
  const [their, my] = [new Set(changedPaths(base, theirs)), new Set(changedPaths(base, mine))];
  const differ = new Set(changedPaths(theirs, mine));
  return {
    both: [...my].filter((path) => their.has(path) && differ.has(path)),
    onlyTheirs: [...their].filter((path) => !my.has(path)),
    onlyMine: [...my].filter((path) => !their.has(path)),
  };
}
