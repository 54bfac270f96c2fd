// Hooks on what the person chose: units, numbers and surroundings.
import { useMemo, useSyncExternalStore } from "react";
import { localeOf, type UnitChoice, unitChoice } from "../units/choice.ts";
import type { Kept } from "../units/kept.ts";
import { formatCount, formatNumber } from "../units/numbers.ts";
import type { Kept as KeptNumber, QuantityName } from "../units/quantities.ts";
import { show, showChange, showParts, showRange } from "../units/show.ts";
import { type Surroundings, surroundings } from "./surroundings.ts";

/** useKept follows one kept choice. */
export function useKept<T>(kept: Kept<T>): T {
  return useSyncExternalStore(kept.listen, kept.value, kept.value);
}

export type Units = {
  choice: UnitChoice;
  /** Tag for Intl. */
  locale: string;
  show: <Q extends QuantityName>(quantity: Q, kept: KeptNumber[Q]) => string;
  parts: <Q extends QuantityName>(quantity: Q, kept: KeptNumber[Q]) => { number: string; symbol: string };
  range: <Q extends QuantityName>(quantity: Q, low: KeptNumber[Q], high: KeptNumber[Q]) => string;
  change: <Q extends QuantityName>(quantity: Q, change: KeptNumber[Q]) => string;
  number: (value: number, digits?: number) => string;
  count: (value: number | bigint) => string;
};

/** useUnits gives the person's units and the ways to write in them. */
export function useUnits(): Units {
  const choice = useKept(unitChoice);
  return useMemo(() => {
    const locale = localeOf(choice);
    return {
      choice,
      locale,
      show: (quantity, kept) => show(quantity, kept, choice),
      parts: (quantity, kept) => showParts(quantity, kept, choice),
      range: (quantity, low, high) => showRange(quantity, low, high, choice),
      change: (quantity, change) => showChange(quantity, change, choice),
      number: (value, digits) => formatNumber(value, locale, digits),
      count: (value) => formatCount(value, locale),
    };
  }, [choice]);
}

/** useSurroundings follows light, sound and target size. */
export function useSurroundings(): Surroundings {
  return useKept(surroundings);
}
