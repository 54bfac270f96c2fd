import type { Option } from "../../kit/Field.tsx";
import { Peel, Turns } from "../../proto/evenpeel/record/v1/record_pb.ts";
import type { QuantityName } from "../../units/quantities.ts";
import type { Field } from "./fields.ts";
import { trialField } from "./trialFields.ts";

const options = (words: Record<string, string>): Option<string>[] =>
  Object.entries(words).map(([value, text]) => ({ value, words: text }));

const window = (path: string, words: string, quantity: QuantityName, group: string): Field[] => [
  { path: `${path}.low`, words: `${words}, lowest`, as: "quantity", quantity, group },
  { path: `${path}.set`, words: `${words}, to set`, as: "quantity", quantity, group, window: words },
  { path: `${path}.high`, words: `${words}, highest`, as: "quantity", quantity, group },
];

export const peelWords = options({
  [Peel.HOT]: "hot: at once",
  [Peel.WARM]: "warm: when hand-warm",
  [Peel.COLD]: "cold: when cold",
});

const what = "What it is";
const film = "The film";
const cut = "Cut and weed";
const press = "Press and peel";
const care = "Care the film allows";

/** recipeFields are in the order in which a recipe is worked. */
export const recipeFields: readonly Field[] = [
  { path: "title", words: "Name", as: "words", group: what },
  {
    path: "fabric",
    words: "Fabric family",
    as: "choice",
    group: what,
    options: options({
      cotton: "cotton",
      polyester: "polyester",
      blend: "blend",
      nylon: "nylon",
      stretch: "stretch",
    }),
  },
  {
    path: "advice",
    words: "Advice for the bench",
    hint: "One line each.",
    as: "lines",
    group: what,
    optional: true,
  },

  ...window("press_temperature_celsius", "Platen temperature", "temperature", press),
  ...window("dwell_seconds", "Dwell", "duration", press),
  ...window("pressure_kpa", "Pressure on the work", "pressure", press),
  {
    path: "pre_press_seconds",
    words: "Pre-press",
    as: "quantity",
    quantity: "duration",
    group: press,
    optional: true,
  },
  { path: "peel", words: "Peel", as: "kind", group: press, options: peelWords },
  {
    path: "peel_wait_seconds",
    words: "Wait before peeling",
    as: "quantity",
    quantity: "duration",
    group: press,
  },
  {
    path: "second_press_seconds",
    words: "Second press",
    hint: "0 is none.",
    as: "quantity",
    quantity: "duration",
    group: press,
    optional: true,
  },
  { path: "cover_sheet", words: "A cover sheet lies on the work", as: "yes", group: press },

  ...window("cut_speed_mm_per_second", "Cutting speed", "speed", cut),
  ...window("cut_force_grams", "Cutting force", "force", cut),
  ...window("blade_depth_um", "Blade exposure", "fineLength", cut),
  { path: "passes", words: "Passes", as: "count", group: cut },
  { path: "gap_mm", words: "Gap between designs", as: "quantity", quantity: "length", group: cut },
  { path: "weed_border_mm", words: "Weeding border", as: "quantity", quantity: "length", group: cut },

  { path: "film.code", words: "Film code", hint: "Short, lower case.", as: "words", group: film },
  { path: "film.title", words: "Film name", as: "words", group: film },
  {
    path: "film.chemistry",
    words: "Made of",
    as: "choice",
    group: film,
    options: options({ PU: "polyurethane (PU)", PVC: "PVC", PET: "polyester (PET)" }),
  },
  { path: "film.glitter", words: "It holds glitter", as: "yes", group: film },
  { path: "film.thickness_um", words: "Film thickness", as: "quantity", quantity: "thickness", group: film },
  { path: "film.carrier_um", words: "Carrier thickness", as: "quantity", quantity: "thickness", group: film },
  { path: "film.roll_width_mm", words: "Roll width", as: "quantity", quantity: "length", group: film },
  {
    path: "film.min_stroke_um",
    words: "Narrowest stroke",
    as: "quantity",
    quantity: "fineLength",
    group: film,
  },
  { path: "film.min_gap_um", words: "Narrowest gap", as: "quantity", quantity: "fineLength", group: film },
  { path: "film.smallest_piece_mm2", words: "Smallest piece", as: "quantity", quantity: "area", group: film },
  {
    path: "film.turns",
    words: "Designs may be turned",
    as: "kind",
    group: film,
    options: options({
      [Turns.NONE]: "not at all",
      [Turns.HALF]: "by a half turn",
      [Turns.QUARTER]: "by quarter turns",
    }),
  },
  { path: "film.colours", words: "Colours", hint: "One line each.", as: "lines", group: film },

  {
    path: "film.care.wash_max_celsius",
    words: "Wash, at most",
    as: "quantity",
    quantity: "temperature",
    group: care,
  },
  {
    path: "film.care.wash",
    words: "Wash",
    as: "choice",
    group: care,
    options: options({
      normal: "normal",
      mild: "mild",
      very_mild: "very mild",
      hand: "by hand",
      no_wash: "do not wash",
    }),
  },
  {
    path: "film.care.bleach",
    words: "Bleach",
    as: "choice",
    group: care,
    options: options({ any: "any", oxygen_only: "oxygen only", no_bleach: "do not bleach" }),
  },
  {
    path: "film.care.tumble",
    words: "Tumble drying",
    as: "choice",
    group: care,
    options: options({ normal: "normal", low: "low heat", no_tumble: "do not tumble dry" }),
  },
  {
    path: "film.care.iron",
    words: "Iron, at most",
    as: "choice",
    group: care,
    options: options({ "200": "200 °C", "150": "150 °C", "110": "110 °C", no_iron: "do not iron" }),
  },
  {
    path: "film.care.dry",
    words: "Dry cleaning",
    as: "choice",
    group: care,
    options: options({ P: "P solvents", F: "F solvents", no_dryclean: "do not dry clean" }),
  },
  {
    path: "film.care.dry_action",
    words: "Dry cleaning works",
    as: "choice",
    group: care,
    optional: true,
    options: options({ normal: "normally", mild: "mildly" }),
  },
  {
    path: "film.care.wet",
    words: "Wet cleaning",
    as: "choice",
    group: care,
    options: options({
      W: "normal",
      W_mild: "mild",
      W_very_mild: "very mild",
      no_wetclean: "do not wet clean",
    }),
  },
  { path: "film.care.flat", words: "Dry flat", as: "yes", group: care },
  { path: "film.care.drip", words: "Drip dry", as: "yes", group: care },
  { path: "film.care.shade", words: "Dry in the shade", as: "yes", group: care },

  trialField,
];
