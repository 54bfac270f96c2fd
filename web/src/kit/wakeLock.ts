import { useEffect, useState } from "react";

/** "refused" means that the screen may go dark: say so beside the timer. */
export type WakeState = "off" | "held" | "refused";

/** useWakeLock keeps the screen on while `wanted`, and asks again every time the page comes back into sight. */
export function useWakeLock(wanted: boolean): WakeState {
  const [state, setState] = useState<WakeState>("off");
  useEffect(() => {
    if (!wanted) return;
    let over = false;
    let sentinel: WakeLockSentinel | null = null;
    async function take() {
      if (document.visibilityState !== "visible") return;
      try {
        // Asked without looking at the old sentinel: a released one looks held and can not be used again.
        const taken = await navigator.wakeLock.request("screen");
        if (over) return void taken.release();
        sentinel = taken;
        setState("held");
      } catch {
        if (!over) setState("refused");
      }
    }
    void take();
    document.addEventListener("visibilitychange", take);
    return () => {
      over = true;
      document.removeEventListener("visibilitychange", take);
      void sentinel?.release();
      setState("off");
    };
  }, [wanted]);
  return state;
}
