// Cards as the screens of this room sort them.
import type { CycleStep } from "../../kit/drawings/CycleTimeline.tsx";
import type { PeelKind } from "../../kit/drawings/Peel.tsx";
import type { Card } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { type Seconds, seconds } from "../../units/quantities.ts";

/** recordOf gives "recipes/glimmer-cotton" for "recipes/glimmer-cotton/revisions/3". */
export const recordOf = (revision: string): string => revision.split("/").slice(0, 2).join("/");

/** recipeId gives "glimmer-cotton". */
export const recipeId = (revision: string): string => revision.split("/")[1] ?? "";

/** revisionNumber gives "3". */
export const revisionNumber = (revision: string): string => revision.split("/")[3] ?? "";

/** usable says whether anything stands against working by this card. */
export const usable = (card: Card): boolean =>
  card.refusals.length === 0 && [...card.cut, ...card.pressSettings].every(({ refusal }) => refusal === "");

/** byRecipe keeps one card for each recipe, one that may be used where there is one. */
export function byRecipe(cards: readonly Card[]): Card[] {
  const chosen = new Map<string, Card>();
  for (const card of cards) {
    const record = recordOf(card.revision);
    const known = chosen.get(record);
    if (!known || (!usable(known) && usable(card))) chosen.set(record, card);
  }
  return [...chosen.values()];
}

/** peelOf reads "PEEL_HOT" as in the record; null for what this page does not know. */
export function peelOf(peel: string): PeelKind | null {
  switch (peel) {
    case "PEEL_HOT":
      return "hot";
    case "PEEL_WARM":
      return "warm";
    case "PEEL_COLD":
      return "cold";
    default:
      return null;
  }
}

const handling = 5; // seconds drawn for the peel itself; a hand's time, common practice, no source

/** cycleOf gives the press cycle of a card for the timeline. */
export function cycleOf(card: Card): CycleStep[] {
  const step = (words: string, length: bigint | number, kind: CycleStep["kind"]): CycleStep[] => {
    const long: Seconds = seconds(length);
    return long > 0 ? [{ words, length: long, kind }] : [];
  };
  return [
    ...step("Pre-press", card.prePressSeconds, "press"),
    ...step("Press", card.dwellSeconds, "dwell"),
    ...step("Wait", card.peelWaitSeconds, "wait"),
    ...step("Peel", handling, "peel"),
    ...step("Second press", card.secondPressSeconds, "press"),
  ];
}
