// Fields of the trials that a recipe's draft carries as evidence.
import { create } from "@bufbuild/protobuf";
import { TrialSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import type { Field } from "./fields.ts";

const named = (words: Record<string, string>) =>
  Object.entries(words).map(([value, text]) => ({ value, words: text }));

// ISO 6330:2012, type A machine: the digit is a tenth of the temperature, N normal, M mild, G gentle, H hand wash.
const strength = { N: "normal", M: "mild", G: "gentle", H: "hand wash" } as const;
const washProcedures = ["9N", "7N", "6N", "6M", "5N", "5M", "4N", "4M", "4G", "3N", "3M", "3G", "4H"].map(
  (value) => ({
    value,
    words: `${value}: ${value[0]}0 °C, ${strength[value[1] as keyof typeof strength]}`,
  }),
);
const dryProcedures = named({
  A: "A: line",
  B: "B: drip line",
  C: "C: flat",
  D: "D: drip flat",
  E: "E: flat press",
  F: "F: tumble",
});
const outcomes = named({
  held: "held",
  edges_lifted: "edges lifted",
  peeled_off: "peeled off",
  cracked: "cracked",
  colour_changed: "the colour changed",
  fabric_marked: "the fabric was marked",
});

/** trialField asks for trials; they stand beside the recipe and are part of what a second look binds to. */
export const trialField: Field = {
  path: "trials",
  words: "Trials",
  group: "What was tried",
  hint: "Garments really pressed by these settings, and how they stood the wash. Whoever takes the second look sees them.",
  as: "rows",
  optional: true,
  one: "trial",
  blank: () => create(TrialSchema),
  columns: [
    { path: "garments_count", words: "Garments pressed", as: "count", group: "" },
    {
      path: "wash_procedure",
      words: "Wash procedure (ISO 6330)",
      hint: "Empty where nothing was washed.",
      as: "choice",
      options: washProcedures,
      group: "",
      optional: true,
    },
    {
      path: "dry_procedure",
      words: "Drying procedure (ISO 6330)",
      as: "choice",
      options: dryProcedures,
      group: "",
      optional: true,
    },
    { path: "cycles", words: "Wash and dry cycles", as: "count", group: "" },
    { path: "outcome", words: "What became of it", as: "choice", options: outcomes, group: "" },
    { path: "tester", words: "Tried by", as: "words", group: "" },
    { path: "day", words: "Day it ended", as: "day", group: "" },
    { path: "words", words: "What was seen", as: "words", lines: 2, group: "", optional: true },
  ],
};
