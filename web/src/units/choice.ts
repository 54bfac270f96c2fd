// What this person likes to read: the language of numbers and a unit for each quantity. Kept in this browser only;
// nothing that is stored or sent ever depends on it.
import { type Kept as KeptChoice, keep, oneOf, recordOf } from "./kept.ts";
import { type QuantityName, quantities, type Shown } from "./quantities.ts";

export type UnitChoice = {
  /** A BCP 47 tag, or "browser" for the language this browser asks for. */
  locale: string;
  temperature: "C" | "F";
  pressure: "kPa" | "bar" | "psi";
  length: "mm" | "in";
  force: "gf" | "N";
  speed: "mm/s" | "cm/s" | "in/s";
};

export const locales = [
  "browser",
  "en-GB",
  "en-US",
  "en-AU",
  "en-CA",
  "fr-CA",
  "de-DE",
  "fr-FR",
  "pl-PL",
  "nl-NL",
] as const;

/** usualIn gives what workshops read where this language tag is spoken. */
export function usualIn(tag: string): UnitChoice {
  const american = tag === "en-US";
  return {
    locale: "browser",
    temperature: american ? "F" : "C",
    pressure: american ? "psi" : "bar",
    length: american ? "in" : "mm",
    force: "gf",
    speed: american ? "in/s" : "mm/s",
  };
}

function browserLocale(): string {
  return typeof navigator === "undefined" ? "en-GB" : navigator.language || "en-GB";
}

function read(stored: unknown): UnitChoice {
  const usual = usualIn(browserLocale());
  const was = recordOf(stored);
  return {
    locale: oneOf<string>(locales, was.locale, usual.locale),
    temperature: oneOf(["C", "F"], was.temperature, usual.temperature),
    pressure: oneOf(["kPa", "bar", "psi"], was.pressure, usual.pressure),
    length: oneOf(["mm", "in"], was.length, usual.length),
    force: oneOf(["gf", "N"], was.force, usual.force),
    speed: oneOf(["mm/s", "cm/s", "in/s"], was.speed, usual.speed),
  };
}

/** unitChoice is the choice in force in this browser. In a component use useUnits from the kit. */
export const unitChoice: KeptChoice<UnitChoice> = keep("evenpeel:units", read);

/** localeOf gives the tag to hand to Intl. */
export function localeOf(choice: UnitChoice): string {
  return choice.locale === "browser" ? browserLocale() : choice.locale;
}

/** shownAs gives the unit in which this person reads the quantity. */
export function shownAs(quantity: QuantityName, choice: UnitChoice): Shown {
  switch (quantity) {
    case "temperature":
    case "temperatureChange":
      return quantities[quantity][choice.temperature];
    case "pressure":
      return quantities.pressure[choice.pressure];
    case "force":
      return quantities.force[choice.force];
    case "speed":
      return quantities.speed[choice.speed];
    case "share":
      return quantities.share.percent;
    case "duration":
      return quantities.duration.s;
    case "pieces":
      return quantities.pieces.one;
    default:
      return quantities[quantity][choice.length];
  }
}
