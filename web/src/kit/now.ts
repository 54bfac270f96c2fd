import { useEffect, useState } from "react";

/** useNow gives the time, redrawn every `everyMs`. It is for drawing only: deadlines are kept as instants. */
export function useNow(everyMs: number): number {
  const [now, setNow] = useState(() => Date.now());
  useEffect(() => {
    const look = () => setNow(Date.now());
    const timer = setInterval(look, everyMs);
    // A tablet that slept must not show the old time until the next tick.
    document.addEventListener("visibilitychange", look);
    return () => {
      clearInterval(timer);
      document.removeEventListener("visibilitychange", look);
    };
  }, [everyMs]);
  return now;
}
