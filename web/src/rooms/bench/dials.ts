// Words and numbers of a card's settings.
import type { Units } from "../../kit/choices.ts";
import { Quantity, type Setting } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { shownAs } from "../../units/choice.ts";
import { formatNumber } from "../../units/numbers.ts";
import { type QuantityName, toShown } from "../../units/quantities.ts";

const words: Record<string, string> = {
  cut_force_grams: "Cutting force",
  cut_speed_mm_per_second: "Cutting speed",
  blade_depth_um: "Blade beyond its holder",
  press_temperature_celsius: "Platen",
  pressure_kpa: "Pressure",
  dwell_seconds: "Dwell",
  pre_press_seconds: "Pre-press",
  second_press_seconds: "Second press",
};

/** settingWords names a setting; a key this page does not know is shown as it came. */
export const settingWords = (key: string): string => words[key] ?? key;

const quantityNames: Partial<Record<Quantity, QuantityName>> = {
  [Quantity.FORCE]: "force",
  [Quantity.SPEED]: "speed",
  [Quantity.TEMPERATURE]: "temperature",
  [Quantity.PRESSURE]: "pressure",
  [Quantity.TIME]: "duration",
  [Quantity.BLADE]: "fineLength",
};

export const quantityWords: Record<Quantity, string> = {
  [Quantity.UNSPECIFIED]: "not stated",
  [Quantity.FORCE]: "cutting force",
  [Quantity.SPEED]: "cutting speed",
  [Quantity.TEMPERATURE]: "platen temperature",
  [Quantity.PRESSURE]: "pressure on the work",
  [Quantity.TIME]: "time",
  [Quantity.BLADE]: "blade exposure",
};

/** unitOf gives the symbol that the measured value of a calibration point is kept in. */
export const unitOf: Record<Quantity, string> = {
  [Quantity.UNSPECIFIED]: "",
  [Quantity.FORCE]: "gf",
  [Quantity.SPEED]: "mm/s",
  [Quantity.TEMPERATURE]: "°C",
  [Quantity.PRESSURE]: "kPa",
  [Quantity.TIME]: "s",
  [Quantity.BLADE]: "µm",
};

/** dialNumber writes what to dial, with the decimals of the dial's own step. */
export function dialNumber({ dialMilli, decimals }: Setting, locale: string): string {
  return formatNumber(Number(dialMilli) / 1000, locale, Math.min(3, Math.max(0, decimals)));
}

/** truth writes thousandths of the quantity's unit in the person's unit, with one digit more where it is not whole. */
export function truth(quantity: Quantity, milli: bigint, units: Units): string {
  const name = quantityNames[quantity];
  if (!name) return formatNumber(Number(milli) / 1000, units.locale, 3);
  const unit = shownAs(name, units.choice);
  const value = toShown(Number(milli) / 1000, unit);
  const scaled = value * 10 ** unit.digits;
  const digits = Math.abs(scaled - Math.round(scaled)) < 1e-6 ? unit.digits : unit.digits + 1;
  return `${formatNumber(value, units.locale, digits)}\u00a0${unit.symbol}`;
}

/** settingNote says what was wanted, what the dial gives, and by how much its steps miss it. */
export function settingNote(setting: Setting, units: Units): string {
  const { quantity, wantedMilli, givenMilli } = setting;
  const wanted = truth(quantity, wantedMilli, units);
  const window = `allowed ${truth(quantity, setting.lowMilli, units)} to ${truth(quantity, setting.highMilli, units)}`;
  if (wantedMilli === givenMilli) return `wanted ${wanted}, given exactly; ${window}`;
  return `wanted ${wanted}, gives ${truth(quantity, givenMilli, units)} (nearest step); ${window}`;
}
