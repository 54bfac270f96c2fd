// Consequences of a change to a recipe, as far as they follow from the two records alone.
import type { Units } from "../../kit/choices.ts";
import type { Recipe } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { type Kept, type QuantityName, seconds } from "../../units/quantities.ts";
import { type Field, valueAt } from "./fields.ts";
import { recipeFields } from "./recipeFields.ts";

export type Consequence = {
  words: string;
  /** It leaves what was approved before, so somebody must have tried it. */
  caution: boolean;
};

/** pressSeconds is how long a garment takes from closing the press to the last peel; hands are not counted. */
export const pressSeconds = (recipe: Recipe): bigint =>
  recipe.prePressSeconds +
  (recipe.dwellSeconds?.set ?? 0n) +
  recipe.peelWaitSeconds +
  recipe.secondPressSeconds;

/** consequencesOf says what a change means, worst first: out of the approved range, then the range, then the time. */
export function consequencesOf(before: Recipe, after: Recipe, units: Units): Consequence[] {
  const found = recipeFields
    .filter((field) => field.window !== undefined)
    .flatMap((field) => windowConsequences(field, before, after, units));
  const longer = pressSeconds(after) - pressSeconds(before);
  if (longer !== 0n) {
    const by = units.show("duration", seconds(longer < 0n ? -longer : longer));
    found.push({
      words: `It ${longer > 0n ? "adds" : "saves"} ${by} a garment at the press.`,
      caution: false,
    });
  }
  return found.toSorted((a, b) => Number(b.caution) - Number(a.caution));
}

function windowConsequences(field: Field, before: Recipe, after: Recipe, units: Units): Consequence[] {
  if (field.as !== "quantity") return [];
  const at = (recipe: Recipe, end: string) =>
    (valueAt(recipe, field.path.replace(/set$/, end)) ?? 0n) as bigint;
  const kept = (value: bigint) => Number(value) as Kept[QuantityName];
  const range = (recipe: Recipe) =>
    units.range(field.quantity, kept(at(recipe, "low")), kept(at(recipe, "high")));
  const [was, now] = [at(before, "set"), at(after, "set")];
  const out: Consequence[] = [];
  if (was !== now && was !== 0n) {
    const inside = now >= at(before, "low") && now <= at(before, "high");
    const change = units.change(field.quantity, kept(now - was));
    out.push({
      words: `${field.window} ${change}, ${inside ? "inside" : "outside"} the range approved before (${range(before)}).`,
      caution: !inside,
    });
  }
  const [low, high] = [at(after, "low") < at(before, "low"), at(after, "high") > at(before, "high")];
  if (at(before, "high") !== 0n && (low || high))
    out.push({
      words: `${field.window}: the range grows to ${range(after)}; it was ${range(before)}.`,
      caution: true,
    });
  return out;
}
