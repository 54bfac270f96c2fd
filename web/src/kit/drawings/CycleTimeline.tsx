import { showDuration } from "../../units/durations.ts";
import type { Seconds } from "../../units/quantities.ts";
import styles from "./CycleTimeline.module.css";

export type CycleKind = "press" | "dwell" | "wait" | "peel";

export type CycleStep = {
  words: string;
  length: Seconds;
  /** "dwell" is the press that bonds, drawn full; "press" any shorter press; "wait" open; "peel" the hand. */
  kind: CycleKind;
  /** Changed against the other revision. */
  changed?: boolean;
};

type CycleTimelineProps = {
  steps: readonly CycleStep[];
  /** Seconds since the cycle began; draws the now-line. */
  now?: number;
  label?: string;
};

/** CycleTimeline shows one press cycle: how long each part is, and where it stands. */
export function CycleTimeline({ steps, now, label = "Press cycle" }: CycleTimelineProps) {
  let begin = 0;
  return (
    <ol className={styles.cycle} aria-label={label}>
      {steps.map((step) => {
        const from = begin;
        begin += step.length;
        const within =
          now !== undefined && now >= from && now < begin ? (now - from) / Math.max(1, step.length) : null;
        return (
          <li
            key={`${step.words}-${from}`}
            className={styles.step}
            style={{ flexGrow: Math.max(1, step.length) }}
          >
            <span className={styles.bar} data-kind={step.kind} data-changed={step.changed || undefined}>
              {within !== null && (
                <span className={styles.now} style={{ insetInlineStart: `${within * 100}%` }} />
              )}
            </span>
            <span className={styles.words}>
              <b>{showDuration(step.length)}</b>
              <br />
              {step.words}
              {step.changed && <span className="unseen"> (changed)</span>}
            </span>
          </li>
        );
      })}
    </ol>
  );
}
