// Ladder is what a metre of one film asks by length: a step down at each break.

/** Breaks are the prices of one film: a metre costs so much from a length on. */
export type Breaks = { breaks: readonly { fromMm: bigint; perMetreMinor: bigint }[] };

export type Step = {
  /** From and to in millimetres; the last step is open and drawn a little beyond its start. */
  fromMm: number;
  toMm: number;
  perMetreMinor: bigint;
};

/** ladderOf gives the steps from 0 on; `reachMm` is how far the picture goes. */
export function ladderOf(price: Breaks): { steps: Step[]; reachMm: number } {
  const breaks = price.breaks.toSorted((a, b) => Number(a.fromMm - b.fromMm));
  const last = Number(breaks.at(-1)?.fromMm ?? 0n);
  const reachMm = Math.max(5_000, Math.ceil((last * 1.4) / 1_000) * 1_000);
  const steps = breaks.map((at, index) => ({
    fromMm: Number(at.fromMm),
    toMm: Number(breaks[index + 1]?.fromMm ?? reachMm),
    perMetreMinor: at.perMetreMinor,
  }));
  return { steps, reachMm };
}

/** priceAt gives what a metre asks at a length; null below the first break. */
export function priceAt(steps: readonly Step[], mm: number): bigint | null {
  return steps.findLast((step) => step.fromMm <= mm)?.perMetreMinor ?? null;
}
