// How far the work on one film of one order has come on this tablet. Instants, not counted seconds, so that a tablet
// that slept or was reloaded still tells the truth.
import { type Kept, keep, recordOf } from "../../units/kept.ts";

export type Running = {
  key: string;
  ends: number /** How late the bell was stopped, in ms; null while it runs. */;
  late: number | null;
};

export type Work = {
  /** When the first step was begun; null before. */
  startedAt: number | null;
  /** Garments that were checked. */
  pressed: number;
  /** Newest last. */
  timers: readonly Running[];
  /** Dwells really had, in seconds. */
  dwells: readonly number[];
};

const keptTimers = 8;
const made = new Map<string, Kept<Work>>();

/** workOn gives the kept work on one layout of one order. */
export function workOn(order: string, layout: number): Kept<Work> {
  const key = `evenpeel:work:${order}:${layout}`;
  let kept = made.get(key);
  if (!kept) {
    kept = keep<Work>(key, read);
    made.set(key, kept);
  }
  return kept;
}

function read(stored: unknown): Work {
  const was = recordOf(stored);
  const list = (value: unknown): unknown[] => (Array.isArray(value) ? value : []);
  return {
    startedAt: typeof was.startedAt === "number" ? was.startedAt : null,
    pressed: typeof was.pressed === "number" ? was.pressed : 0,
    dwells: list(was.dwells).filter((dwell): dwell is number => typeof dwell === "number"),
    timers: list(was.timers)
      .map(recordOf)
      .flatMap(({ key, ends, late }) =>
        typeof key === "string" && typeof ends === "number"
          ? [{ key, ends, late: typeof late === "number" ? late : null }]
          : [],
      ),
  };
}

/** started begins the work, if it has not begun. */
export const started = (work: Work, now: number): Work =>
  work.startedAt === null ? { ...work, startedAt: now } : work;

/** withTimer starts a timer, or starts it anew. */
export const withTimer = (work: Work, timer: Running): Work => ({
  ...work,
  timers: [...work.timers.filter(({ key }) => key !== timer.key), timer].slice(-keptTimers),
});

/** meanDwell gives the dwell really had, in whole seconds; 0 where none was timed. */
export function meanDwell({ dwells }: Work): number {
  if (dwells.length === 0) return 0;
  return Math.round(dwells.reduce((sum, dwell) => sum + dwell, 0) / dwells.length);
}
