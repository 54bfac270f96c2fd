// Kept numbers in the units and language of this person.
import { localeOf, shownAs, type UnitChoice } from "./choice.ts";
import { formatNumber } from "./numbers.ts";
import { type Kept, type QuantityName, toShown } from "./quantities.ts";

const space = "\u00a0"; // SI Brochure, 9th edition, 5.4.3: a space between number and unit, here one that does not break

/** show writes "150 °C" or "302 °F". */
export function show<Q extends QuantityName>(quantity: Q, kept: Kept[Q], choice: UnitChoice): string {
  const { number, symbol } = showParts(quantity, kept, choice);
  return number + space + symbol;
}

/** showParts gives number and unit apart, for large figures with a small unit. */
export function showParts<Q extends QuantityName>(
  quantity: Q,
  kept: Kept[Q],
  choice: UnitChoice,
): { number: string; symbol: string } {
  const unit = shownAs(quantity, choice);
  const value = toShown(kept, unit);
  const digits = isArea(quantity) ? areaDigits(value, unit.digits) : unit.digits;
  return { number: formatNumber(value, localeOf(choice), digits), symbol: unit.symbol };
}

const isArea = (quantity: QuantityName) => quantity === "area" || quantity === "filmArea";

/** areaDigits leaves three figures that mean something: 0.087, 1.24, 38.5, 1,204. */
function areaDigits(value: number, most: number): number {
  const before = Math.abs(value) < 1 ? 0 : Math.floor(Math.log10(Math.abs(value))) + 1;
  return Math.max(0, Math.min(most, 3 - before));
}

/** showRange writes "145 to 160 °C". */
export function showRange<Q extends QuantityName>(
  quantity: Q,
  low: Kept[Q],
  high: Kept[Q],
  choice: UnitChoice,
): string {
  return `${showParts(quantity, low, choice).number} to ${show(quantity, high, choice)}`;
}

/** showChange writes a difference with its sign: "+5 °C", "−0.20 bar", "no change". */
export function showChange<Q extends QuantityName>(quantity: Q, change: Kept[Q], choice: UnitChoice): string {
  if (change === 0) return "no change";
  const unit = shownAs(quantity, choice);
  // An offset belongs to a reading, not to a difference: 5 °C more is 9 °F more.
  const size = formatNumber(Math.abs(change * unit.times) / unit.over, localeOf(choice), unit.digits);
  return (change < 0 ? "\u2212" : "+") + size + space + unit.symbol;
}
