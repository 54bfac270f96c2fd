import { useEffect, useState } from "react";

const longestTimer = 2 ** 31 - 1; // ms; browsers take no longer one

/** useInstant tells whether an instant has passed, and draws anew when it does. */
export function useInstant(instant: number | null): boolean {
  const [, look] = useState(0);
  const passed = instant !== null && instant <= Date.now();
  useEffect(() => {
    if (instant === null || passed) return;
    let timer: ReturnType<typeof setTimeout>;
    const wait = () => {
      timer = setTimeout(
        () => (Date.now() < instant ? wait() : look((count) => count + 1)),
        Math.min(longestTimer, Math.max(0, instant - Date.now())),
      );
    };
    wait();
    // A tablet that slept past the instant is told when it wakes.
    const woke = () => look((count) => count + 1);
    document.addEventListener("visibilitychange", woke);
    return () => {
      clearTimeout(timer);
      document.removeEventListener("visibilitychange", woke);
    };
  }, [instant, passed]);
  return passed;
}
