// Fields of the records beside recipes: price lists, notes and certificates.
import { create } from "@bufbuild/protobuf";
import {
  FilmPriceSchema,
  GarmentPriceSchema,
  MeasureSchema,
  PriceBreakSchema,
  WordsSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import type { Field } from "./fields.ts";

const markets = ["EU", "UK", "US", "CA", "AU"].map((value) => ({ value, words: value }));

const list = "The list";
const asked = "What is asked";
const labour = "Labour and losses";
const tax = "Tax and rounding";

export const priceListFields: readonly Field[] = [
  { path: "title", words: "Name", as: "words", group: list },
  { path: "market", words: "Market", as: "choice", options: markets, group: list },
  {
    path: "currency_code",
    words: "Currency",
    hint: "Three letters (ISO 4217), such as EUR.",
    as: "words",
    group: list,
  },
  {
    path: "film_prices",
    words: "Film prices",
    as: "rows",
    group: asked,
    one: "film",
    blank: () => create(FilmPriceSchema, { breaks: [create(PriceBreakSchema)] }),
    columns: [
      { path: "film", words: "Film code", as: "words", group: "" },
      {
        path: "cost_per_metre_minor",
        words: "Cost of a metre",
        hint: "0 is not stated.",
        as: "money",
        group: "",
        optional: true,
      },
      {
        path: "breaks",
        words: "Prices by length",
        as: "rows",
        group: "",
        one: "price",
        blank: () => create(PriceBreakSchema),
        columns: [
          { path: "from_mm", words: "From length", as: "quantity", quantity: "rollLength", group: "" },
          { path: "per_metre_minor", words: "Price of a metre", as: "money", group: "" },
        ],
      },
    ],
  },
  {
    path: "garments",
    words: "Garments",
    as: "rows",
    group: asked,
    optional: true,
    one: "garment",
    blank: () => create(GarmentPriceSchema),
    columns: [
      { path: "garment", words: "Garment code", as: "words", group: "" },
      { path: "title", words: "Name", as: "words", group: "" },
      { path: "each_minor", words: "Price each", as: "money", group: "" },
      { path: "cost_minor", words: "Cost each", as: "money", group: "", optional: true },
    ],
  },
  { path: "labour_per_hour_minor", words: "Labour, an hour", as: "money", group: labour },
  {
    path: "labour_cost_per_hour_minor",
    words: "Labour cost, an hour",
    hint: "0 is not stated.",
    as: "money",
    group: labour,
    optional: true,
  },
  {
    path: "set_up_seconds",
    words: "Set-up of a design and colour",
    as: "quantity",
    quantity: "duration",
    group: labour,
  },
  {
    path: "handling_seconds",
    words: "Handling of a garment",
    as: "quantity",
    quantity: "duration",
    group: labour,
  },
  {
    path: "waste_allowance_ppm",
    words: "Allowance for film lost",
    as: "quantity",
    quantity: "share",
    group: labour,
  },
  {
    path: "reprint_allowance_ppm",
    words: "Allowance for reprints",
    as: "quantity",
    quantity: "share",
    group: labour,
  },
  { path: "tax_name", words: "Name of the tax", as: "words", group: tax, optional: true },
  { path: "tax_ppm", words: "Tax rate", as: "quantity", quantity: "share", group: tax },
  { path: "tax_included", words: "Prices hold the tax already", as: "yes", group: tax },
  { path: "tax_per_line", words: "Tax is rounded on each line", as: "yes", group: tax },
  { path: "round_to_minor", words: "Round what is asked to", as: "money", group: tax },
  { path: "smallest_order_minor", words: "Smallest amount asked", as: "money", group: tax },
];

const applies = "When it applies";
const says = "What it says";
const inLanguages = {
  as: "rows",
  group: says,
  one: "language",
  blank: () => create(WordsSchema),
  columns: [
    { path: "language", words: "Language", hint: "A tag such as en or de.", as: "words", group: "" },
    { path: "text", words: "Words", as: "words", lines: 2, group: "" },
  ],
} satisfies Partial<Field>;

export const noteFields: readonly Field[] = [
  { path: "title", words: "Name", as: "words", group: applies },
  { path: "market", words: "Market", as: "choice", options: markets, group: applies },
  {
    path: "age_below_months",
    words: "For ages below, in months",
    hint: "0 is every age, adults too.",
    as: "count",
    group: applies,
  },
  {
    path: "sold_as",
    words: "Sold as",
    hint: "One line each; empty is everything.",
    as: "lines",
    group: applies,
    optional: true,
  },
  {
    path: "films",
    words: "Film codes",
    hint: "One line each; empty is every film.",
    as: "lines",
    group: applies,
    optional: true,
  },
  { path: "labels", words: "Words for the label", optional: true, ...inLanguages },
  { path: "cautions", words: "Cautions at the counter", optional: true, ...inLanguages },
  {
    path: "papers",
    words: "Papers that must be at hand",
    hint: "One line each.",
    as: "lines",
    group: says,
    optional: true,
  },
  { path: "blocks", words: "It blocks the order", as: "yes", group: says },
  { path: "reason", words: "Why it blocks", as: "words", lines: 2, group: says, optional: true },
];

const paper = "The paper";
const scope = "What it holds for";
const shows = "What it shows";

export const certificateFields: readonly Field[] = [
  { path: "scheme", words: "Scheme or kind of test", as: "words", group: paper },
  { path: "number", words: "Number on the paper", as: "words", group: paper },
  { path: "issuer", words: "Issued by", as: "words", group: paper },
  {
    path: "kind",
    words: "Kind of paper",
    as: "choice",
    group: paper,
    options: [
      { value: "certificate", words: "certificate" },
      { value: "test-report", words: "test report" },
      { value: "component-certificate", words: "certificate of a component" },
      { value: "declaration", words: "declaration" },
    ],
  },
  { path: "valid_from", words: "First day", as: "day", group: paper },
  { path: "valid_until", words: "Last day", hint: "Empty is open.", as: "day", group: paper, optional: true },
  {
    path: "film",
    words: "Film code",
    hint: "A film or a garment, not both.",
    as: "words",
    group: scope,
    optional: true,
  },
  { path: "garment", words: "Garment code", as: "words", group: scope, optional: true },
  {
    path: "colours",
    words: "Colours",
    hint: "One line each; empty is all.",
    as: "lines",
    group: scope,
    optional: true,
  },
  {
    path: "lots",
    words: "Lots",
    hint: "One line each; empty is all.",
    as: "lines",
    group: scope,
    optional: true,
  },
  {
    path: "markets",
    words: "Markets",
    hint: "One line each; empty is all.",
    as: "lines",
    group: scope,
    optional: true,
  },
  {
    path: "product_class",
    words: "Product class",
    hint: "1 to 4; 0 is not stated.",
    as: "count",
    group: shows,
  },
  {
    path: "covers",
    words: "Topics covered without a figure",
    hint: "One line each.",
    as: "lines",
    group: shows,
    optional: true,
  },
  {
    path: "results",
    words: "Measured results",
    as: "rows",
    group: shows,
    optional: true,
    one: "result",
    blank: () => create(MeasureSchema),
    columns: [
      { path: "quantity", words: "Quantity", as: "words", group: "" },
      { path: "value_milli", words: "Value", as: "thousandths", group: "" },
      { path: "unit", words: "Unit", as: "words", group: "" },
    ],
  },
];
