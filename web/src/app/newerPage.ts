// NewerPage keeps the page on this device (see worker/) and tells when a newer build waits. Nothing is ever reloaded
// by itself: a timer may run, and something may be half typed.
import { useSyncExternalStore } from "react";

const lookAgain = 60 * 60 * 1_000; // ms between looks for a newer build while a tab stays open

let waiting: ServiceWorker | null = null;
const listeners = new Set<() => void>();

function found(worker: ServiceWorker | null) {
  waiting = worker;
  for (const told of listeners) told();
}

/** keepPage registers the service worker. A browser without one works as before, but only with a network. */
export async function keepPage(): Promise<void> {
  if (!("serviceWorker" in navigator)) return;
  try {
    const registration = await navigator.serviceWorker.register("/sw.js", { updateViaCache: "none" });
    // Only where an older build is at work is the new one news.
    const look = (worker: ServiceWorker | null) => {
      if (worker?.state === "installed" && navigator.serviceWorker.controller) found(worker);
    };
    look(registration.waiting);
    registration.addEventListener("updatefound", () => {
      const worker = registration.installing;
      worker?.addEventListener("statechange", () => look(worker));
    });
    const again = () => void registration.update().catch(() => undefined); // away: next time
    setInterval(again, lookAgain);
    window.addEventListener("online", again);
  } catch {
    // Private windows and strict settings refuse workers: the page then needs its network.
  }
}

/** useNewerPage tells whether a newer page waits, and gives the way to it. */
export function useNewerPage(): (() => void) | null {
  const worker = useSyncExternalStore(
    (told) => {
      listeners.add(told);
      return () => listeners.delete(told);
    },
    () => waiting,
  );
  if (!worker) return null;
  return () => {
    navigator.serviceWorker.addEventListener("controllerchange", () => window.location.reload(), {
      once: true,
    });
    worker.postMessage("take over");
  };
}
