// What the person at the counter has said so far, and the order that it makes.
import { create } from "@bufbuild/protobuf";
import type { FieldFault } from "../../kit/fault.ts";
import { type Order, OrderSchema, Turns } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

export type FilmChoice = {
  /** Colour in the drawing; empty is all of it. */
  figure: string;
  /** "recipes/glimmer-cotton", or empty. */
  recipe: string;
  colour: string;
};

export type SizeChoice = {
  /** For the screen only: rows are added and taken away. */
  key: number;
  size: string;
  count: number | null;
  /** Width of the design in millimetres; null is the drawing's own. */
  widthMm: number | null;
};

/** LayChoice is how designs may lie on the film. */
export type LayChoice = {
  turns: TurnsWord;
  trueOutlines: boolean;
  grouped: boolean;
  useRemnants: boolean;
  /** Millimetres; null is the recipe's. */
  weedBorderMm: number | null;
  gapMm: number | null;
};

export const turnsWords = {
  film: { words: "As the film allows", turns: Turns.UNSPECIFIED },
  none: { words: "As drawn only", turns: Turns.NONE },
  half: { words: "By half a turn", turns: Turns.HALF },
  quarter: { words: "By quarter turns", turns: Turns.QUARTER },
  free: { words: "By any angle", turns: Turns.FREE },
} as const;
export type TurnsWord = keyof typeof turnsWords;

export type Wanted = {
  lay: LayChoice;
  title: string;
  /** "drawings/…", or empty. */
  drawing: string;
  films: FilmChoice[];
  /** Code from the price list; empty is the customer's own. */
  garment: string;
  soldAs: string;
  ageMonths: string;
  ownership: string;
  /** Cut of the garment in the table of places, or "none" of them; null is what follows from soldAs. */
  garmentKind: string | null;
  placement: string;
  lot: string;
  fabricGrams: number | null;
  sizes: SizeChoice[];
  cutter: string;
  press: string;
};

export const nothingYet: Wanted = {
  title: "",
  drawing: "",
  films: [{ figure: "", recipe: "", colour: "" }],
  garment: "",
  soldAs: "t-shirt",
  ageMonths: "-1",
  ownership: "customer-own-use",
  garmentKind: null,
  placement: "full-front",
  lot: "",
  fabricGrams: null,
  sizes: [{ key: 1, size: "M", count: 1, widthMm: null }],
  cutter: "",
  press: "",
  lay: {
    turns: "film",
    trueOutlines: true,
    grouped: false,
    useRemnants: false,
    weedBorderMm: null,
    gapMm: null,
  },
};

// The words that compliance judges by (recipes/compliance, sold_as.go), in the order of a counter's day.
export const soldAsWords = [
  "t-shirt",
  "hoodie",
  "sweatshirt",
  "polo",
  "shirt",
  "sportswear",
  "workwear",
  "jacket",
  "coat",
  "trousers",
  "shorts",
  "skirt",
  "dress",
  "underwear",
  "socks",
  "infant-one-piece",
  "bib",
  "sleep-bag",
  "sleepsuit",
  "pyjamas",
  "nightdress",
  "nightshirt",
  "bathrobe",
  "terry-bathrobe",
  "apron",
  "bag",
  "hat",
  "gloves",
  "scarf",
  "costume",
  "toy",
] as const;

export const ages = [
  { value: "-1", words: "Adults only" },
  { value: "168", words: "14 years and older" },
  { value: "144", words: "12 years and older" },
  { value: "84", words: "7 years and older" },
  { value: "36", words: "3 years and older" },
  { value: "0", words: "Also under 3 years" },
] as const;

export const ownerships = [
  { value: "stock", words: "We sell the garment" },
  { value: "customer-own-use", words: "The customer's own, for own use" },
  { value: "customer-for-resale", words: "The customer's, to be sold on" },
] as const;

/** orderOf makes the order as it is sent. */
export function orderOf(wanted: Wanted): Order {
  const sizes = wanted.sizes.map(({ size, count, widthMm }) => ({
    size: size.trim(),
    count: BigInt(count ?? 0),
    widthUm: BigInt(widthMm ?? 0) * 1000n,
  }));
  return create(OrderSchema, {
    title: wanted.title.trim(),
    lines: wanted.films.map(({ figure, recipe, colour }) => ({
      drawing: wanted.drawing,
      figure,
      recipe,
      colour,
      garment: wanted.garment,
      sizes,
      placement: wanted.placement,
      garmentKind: wanted.garmentKind ?? "",
      turns: turnsWords[wanted.lay.turns].turns,
      // One factor for all colours of a drawing, so that they lie on each other on the garment.
      registered: wanted.films.length > 1,
    })),
    choices: {
      trueOutlines: wanted.lay.trueOutlines,
      grouped: wanted.lay.grouped,
      useRemnants: wanted.lay.useRemnants,
      ...(wanted.lay.weedBorderMm === null ? {} : { weedBorderUm: BigInt(wanted.lay.weedBorderMm) * 1000n }),
      ...(wanted.lay.gapMm === null ? {} : { gapUm: BigInt(wanted.lay.gapMm) * 1000n }),
    },
    ageMonths: BigInt(wanted.ageMonths),
    soldAs: wanted.soldAs,
    ownership: wanted.ownership,
    cutter: wanted.cutter,
    press: wanted.press,
    fabricGramsPerM2: BigInt(wanted.fabricGrams ?? 0),
    lot: wanted.lot.trim(),
  });
}

/** wantedOf reads a kept order back, to plan it again. */
export function wantedOf(order: Order): Wanted {
  const first = order.lines[0];
  return {
    title: order.title,
    drawing: first?.drawing ?? "",
    films: order.lines.map(({ figure, recipe, colour }) => ({ figure, recipe, colour })),
    garment: first?.garment ?? "",
    soldAs: order.soldAs,
    ageMonths: String(order.ageMonths),
    ownership: order.ownership,
    garmentKind: first?.garmentKind || null,
    placement: first?.placement ?? "",
    lot: "", // the film at hand today may be of another lot
    fabricGrams: order.fabricGramsPerM2 > 0n ? Number(order.fabricGramsPerM2) : null,
    sizes: (first?.sizes ?? []).map(({ size, count, widthUm }, at) => ({
      key: at + 1,
      size,
      count: Number(count),
      widthMm: widthUm > 0n ? Math.round(Number(widthUm) / 1000) : null,
    })),
    cutter: order.cutter,
    press: order.press,
    lay: {
      turns:
        (Object.keys(turnsWords) as TurnsWord[]).find((word) => turnsWords[word].turns === first?.turns) ??
        "film",
      trueOutlines: order.choices?.trueOutlines ?? true,
      grouped: order.choices?.grouped ?? false,
      useRemnants: order.choices?.useRemnants ?? false,
      weedBorderMm: millimetresOf(order.choices?.weedBorderUm),
      gapMm: millimetresOf(order.choices?.gapUm),
    },
  };
}

const millimetresOf = (um: bigint | undefined) => (um === undefined ? null : Math.round(Number(um) / 1000));

/** missing lists what has still to be said before a plan can be worked out. */
export function missing(wanted: Wanted): FieldFault[] {
  const faults: FieldFault[] = [];
  const ask = (wrong: boolean, path: string, words: string) => {
    if (wrong) faults.push({ path, words });
  };
  ask(wanted.drawing === "", "drawing", "Choose the drawing to cut.");
  wanted.films.forEach(({ recipe, colour }, at) => {
    ask(recipe === "", `films[${at}].recipe`, "Choose the film and fabric.");
    ask(recipe !== "" && colour === "", `films[${at}].colour`, "Choose the film's colour.");
  });
  wanted.sizes.forEach(({ count }, at) => {
    ask(count === null || count < 1, `sizes[${at}].count`, "Say how many garments, at least 1.");
  });
  ask(wanted.cutter === "", "cutter", "Choose the cutter.");
  ask(wanted.press === "", "press", "Choose the press.");
  return faults;
}
