// The surroundings in which this screen is read: light, noise, gloves. Kept in this browser only.
import { keep, oneOf, recordOf } from "../units/kept.ts";

export type Surroundings = {
  scheme: "auto" | "light" | "dark" | "bright";
  /** Whether timers may sound. They always show and vibrate. */
  sound: boolean;
  /** Edge of a bench target in millimetres of a common 10-inch tablet (132 CSS px an inch). */
  targetMm: 15 | 20 | 25;
  /** Whether single letters do something (WCAG 2.2, 2.1.4 asks that they can be switched off). */
  letterKeys: boolean;
};

export const targetSizes = [15, 20, 25] as const;

export const surroundings = keep<Surroundings>("evenpeel:surroundings", (stored) => {
  const was = recordOf(stored);
  return {
    scheme: oneOf(["auto", "light", "dark", "bright"], was.scheme, "auto"),
    sound: was.sound !== false,
    targetMm: oneOf(targetSizes, was.targetMm, 20),
    letterKeys: was.letterKeys !== false,
  };
});

const remPerMm = 132 / 25.4 / 16;

/** applySurroundings writes the choice onto the document, where the tokens read it. */
export function applySurroundings({ scheme, targetMm }: Surroundings, root: HTMLElement): void {
  if (scheme === "auto") delete root.dataset.scheme;
  else root.dataset.scheme = scheme;
  root.style.setProperty("--bench-target", `${(targetMm * remPerMm).toFixed(3)}rem`);
}
