// The steps of one film of a plan, in the order of the work.
import type { Card } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";

export const stepKeys = [
  "load",
  "test-cut",
  "cut",
  "weed",
  "pre-press",
  "place",
  "press",
  "peel",
  "second-press",
  "check",
] as const;
export type StepKey = (typeof stepKeys)[number];

export const stepWords: Record<StepKey, string> = {
  load: "Load",
  "test-cut": "Test cut",
  cut: "Cut",
  weed: "Weed",
  "pre-press": "Pre-press",
  place: "Place",
  press: "Press",
  peel: "Peel",
  "second-press": "Press again",
  check: "Check",
};

/** stepsFor leaves out what this card does not ask for. */
export function stepsFor(card: Card | undefined): StepKey[] {
  return stepKeys.filter((key) => {
    if (key === "pre-press") return (card?.prePressSeconds ?? 0n) > 0n;
    if (key === "second-press") return (card?.secondPressSeconds ?? 0n) > 0n;
    return true;
  });
}

/** timeOf gives the seconds that a step is timed for; 0 is none. */
export function timeOf(key: StepKey, card: Card | undefined): number {
  switch (key) {
    case "pre-press":
      return Number(card?.prePressSeconds ?? 0n);
    case "press":
      return Number(card?.dwellSeconds ?? 0n);
    case "peel":
      return Number(card?.peelWaitSeconds ?? 0n);
    case "second-press":
      return Number(card?.secondPressSeconds ?? 0n);
    default:
      return 0;
  }
}

export type Spot = { step: StepKey; piece: number };

/** after gives the next spot, or null when the last garment is checked. Every garment is pressed for itself. */
export function after({ step, piece }: Spot, steps: readonly StepKey[], pieces: number): Spot | null {
  if (step === "check") {
    if (piece >= pieces) return null;
    return { step: steps.includes("pre-press") ? "pre-press" : "place", piece: piece + 1 };
  }
  return { step: steps[steps.indexOf(step) + 1] ?? "check", piece };
}

/** before gives the spot before, or the same at the very start. */
export function before({ step, piece }: Spot, steps: readonly StepKey[]): Spot {
  const first = steps.includes("pre-press") ? "pre-press" : "place";
  if (step === first && piece > 1) return { step: "check", piece: piece - 1 };
  return { step: steps[steps.indexOf(step) - 1] ?? step, piece };
}
