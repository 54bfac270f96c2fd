// A type per unit, the twins of recipes/units in Go: whole numbers in the smallest unit that is kept.
// They are made only here, so a temperature can not be handed where a time is wanted.

export type Celsius = number & { readonly unit: "celsius" };
export type CelsiusChange = number & { readonly unit: "celsius change" };
export type Kilopascals = number & { readonly unit: "kilopascals" };
export type Micrometres = number & { readonly unit: "micrometres" };
export type Millimetres = number & { readonly unit: "millimetres" };
export type SquareMillimetres = number & { readonly unit: "square millimetres" };
export type GramsForce = number & { readonly unit: "grams-force" };
export type MillimetresPerSecond = number & { readonly unit: "millimetres per second" };
export type GramsPerSquareMetre = number & { readonly unit: "grams per square metre" };
export type PartsPerMillion = number & { readonly unit: "parts per million" };
export type Seconds = number & { readonly unit: "seconds" };
export type Pieces = number & { readonly unit: "pieces" };
export type Milliseconds = number & { readonly unit: "milliseconds" };

/** Whole is what a generated message holds: int64 arrives as bigint, int32 as number. */
export type Whole = number | bigint;

function whole<T>(value: Whole): T {
  const number = Number(value);
  if (!Number.isSafeInteger(number))
    throw new RangeError(`${value} is not a whole number that can be kept exactly`);
  return number as T;
}

export const celsius = (value: Whole): Celsius => whole(value);
export const celsiusChange = (value: Whole): CelsiusChange => whole(value);
export const kilopascals = (value: Whole): Kilopascals => whole(value);
export const micrometres = (value: Whole): Micrometres => whole(value);
export const millimetres = (value: Whole): Millimetres => whole(value);
export const squareMillimetres = (value: Whole): SquareMillimetres => whole(value);
export const gramsForce = (value: Whole): GramsForce => whole(value);
export const millimetresPerSecond = (value: Whole): MillimetresPerSecond => whole(value);
export const gramsPerSquareMetre = (value: Whole): GramsPerSquareMetre => whole(value);
export const partsPerMillion = (value: Whole): PartsPerMillion => whole(value);
export const seconds = (value: Whole): Seconds => whole(value);
export const pieces = (value: Whole): Pieces => whole(value);
export const milliseconds = (value: Whole): Milliseconds => whole(value);

/** Shown is one way to show a kept number: shown = kept × times ÷ over + plus. `digits` stand after the decimal sign. */
export type Shown = { symbol: string; times: number; over: number; plus: number; digits: number };

const as = (symbol: string, digits: number, times = 1, over = 1, plus = 0): Shown => ({
  symbol,
  times,
  over,
  plus,
  digits,
});

// Factors: NIST Special Publication 811, 2008 edition, appendix B.8, unless a line says otherwise.
// `digits` are enough that two neighbouring press or cut settings never look alike.
const psiPascals = { times: 8896443230521, over: 1290320000 }; // 1 lbf/in² in Pa, as an exact fraction
export const quantities = {
  temperature: { C: as("°C", 0), F: as("°F", 0, 9, 5, 32) },
  temperatureChange: { C: as("°C", 0), F: as("°F", 1, 9, 5) },
  pressure: {
    kPa: as("kPa", 0),
    bar: as("bar", 2, 1, 100),
    psi: as("psi", 1, 1000 * psiPascals.over, psiPascals.times),
  },
  length: { mm: as("mm", 0), in: as("in", 2, 5, 127) },
  fineLength: { mm: as("mm", 3, 1, 1000), in: as("in", 4, 1, 25400) },
  rollLength: { mm: as("m", 2, 1, 1000), in: as("ft", 2, 5, 1524) },
  thickness: { mm: as("µm", 0), in: as("mil", 2, 10, 254) },
  area: { mm: as("cm²", 2, 1, 100), in: as("in²", 2, 100, 64516) },
  filmArea: { mm: as("m²", 3, 1, 1_000_000), in: as("ft²", 2, 100, 9290304) },
  areaMass: { mm: as("g/m²", 0), in: as("oz/yd²", 2, 83612736, 2834952312.5) }, // 0.9144² m² ÷ 28.349523125 g
  force: { gf: as("gf", 0), N: as("N", 2, 980665, 100_000_000) },
  speed: { "mm/s": as("mm/s", 0), "cm/s": as("cm/s", 1, 1, 10), "in/s": as("in/s", 2, 5, 127) },
  share: { percent: as("%", 1, 1, 10_000) },
  duration: { s: as("s", 0) },
  pieces: { one: as("pieces", 0) },
} as const satisfies Record<string, Record<string, Shown>>;

export type QuantityName = keyof typeof quantities;

/** Kept names the branded number behind each quantity. */
export type Kept = {
  temperature: Celsius;
  temperatureChange: CelsiusChange;
  pressure: Kilopascals;
  length: Millimetres;
  fineLength: Micrometres;
  rollLength: Millimetres;
  thickness: Micrometres;
  area: SquareMillimetres;
  filmArea: SquareMillimetres;
  areaMass: GramsPerSquareMetre;
  force: GramsForce;
  speed: MillimetresPerSecond;
  share: PartsPerMillion;
  duration: Seconds;
  pieces: Pieces;
};

/** toShown converts a kept number for the eye. Never keep the result. */
export function toShown(kept: number, unit: Shown): number {
  return (kept * unit.times) / unit.over + unit.plus;
}

/** fromShown converts what a person typed to the nearest number that can be kept, and says whether it was exact. */
export function fromShown(shown: number, unit: Shown): { kept: number; exact: boolean } {
  const precise = ((shown - unit.plus) * unit.over) / unit.times;
  const kept = Math.round(precise);
  // A billionth forgives the doubles' own rounding, nothing a person could type.
  return {
    kept: kept === 0 ? 0 : kept,
    exact: Math.abs(precise - kept) < 1e-9 * Math.max(1, Math.abs(precise)),
  };
}
