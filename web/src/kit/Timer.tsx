// Timer counts to an instant, not through seconds: a page that slept, was reloaded or came late still tells the truth.
import { useEffect, useRef, useState } from "react";
import { showClock } from "../units/durations.ts";
import type { Milliseconds } from "../units/quantities.ts";
import { ring } from "./bell.ts";
import { useSurroundings } from "./choices.ts";
import { classes } from "./classes.ts";
import { useNow } from "./now.ts";
import styles from "./Timer.module.css";
import { useWakeLock } from "./wakeLock.ts";

type TimerProps = {
  /** What runs: "Press", "Batch 2 cooling". */
  name: string;
  /** When it ends, milliseconds since 1970. Keep this instant, so that the timer survives a reload. */
  ends: number;
  /** How long it runs in all, for the bar. */
  length: Milliseconds;
  /** What to do at the end, large: "Open now". */
  atEnd: string;
  /** Called with how late the person was when they stop the bell: the dwell really had. */
  onDismiss: (late: Milliseconds) => void;
  /** One line among others ("also running"), instead of the large figure. */
  small?: boolean;
};

const warnMs = 10_000;

/** Timer shows what is left, rings until dismissed, and then says how late it is: "passed 0:07". */
export function Timer({ name, ends, length, atEnd, onDismiss, small }: TimerProps) {
  const now = useNow(200);
  const left = ends - now;
  const over = left <= 0;
  const { sound } = useSurroundings();
  const wake = useWakeLock(true);
  const said = useAnnouncement(name, left, length, atEnd);

  useEffect(() => (over ? ring(sound) : undefined), [over, sound]);

  const done = Math.min(1, Math.max(0, 1 - left / Math.max(1, length)));
  return (
    <section className={classes(styles.timer, over && styles.over, small && styles.small)} aria-label={name}>
      <p className={styles.name}>{over ? `${name}: ${atEnd}` : name}</p>
      <p role="timer" className={styles.clock}>
        {over ? (
          <>
            <span className={styles.passed}>passed</span> {showPassed(-left)}
          </>
        ) : (
          showClock(left)
        )}
      </p>
      <div className={styles.bar} aria-hidden="true">
        <span style={{ inlineSize: `${done * 100}%` }} />
      </div>
      {over && (
        <button
          type="button"
          className={styles.dismiss}
          onClick={() => onDismiss(Math.round(Date.now() - ends) as Milliseconds)}
        >
          Stop the bell
        </button>
      )}
      {wake === "refused" && !small && (
        <p className={styles.wake}>This screen may go dark: keep it awake and in sight.</p>
      )}
      <p className="unseen" role="status">
        {said}
      </p>
    </section>
  );
}

/** showPassed writes how long ago an end passed, rounding down: "0:07". */
export function showPassed(sinceMs: number): string {
  return showClock(Math.floor(Math.max(0, sinceMs) / 1000) * 1000);
}

// role=timer is silent; start, ten seconds and the end are said aloud, nothing between.
function useAnnouncement(name: string, left: number, length: number, atEnd: string): string {
  const [said, setSaid] = useState("");
  const last = useRef("");
  const next = left <= 0 ? "end" : left <= warnMs && length > 2 * warnMs ? "soon" : "start";
  useEffect(() => {
    if (last.current === next) return;
    last.current = next;
    if (next === "end") setSaid(`${name}: ${atEnd}`);
    else if (next === "soon") setSaid(`${name}: 10 seconds left`);
    else setSaid(`${name}: ${showClock(left)}`);
  }, [next, name, atEnd, left]);
  return said;
}
