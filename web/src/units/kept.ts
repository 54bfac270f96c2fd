// Kept is one choice of the person at this browser, held in localStorage and told to whoever listens.
// A browser that refuses storage still works: the choice then lasts until the page is closed.

export type Kept<T> = {
  /** The choice in force. The same object until it changes. */
  value: () => T;
  /** Makes a new choice and tells every listener. */
  set: (next: T) => void;
  /** Calls `told` after every change; gives back the way to stop. */
  listen: (told: () => void) => () => void;
};

/** keep makes a Kept. `read` turns whatever was stored (perhaps by an older page) into a sound T. */
export function keep<T>(key: string, read: (stored: unknown) => T): Kept<T> {
  const listeners = new Set<() => void>();
  let current = read(load(key));
  return {
    value: () => current,
    set(next) {
      current = next;
      save(key, next);
      for (const told of listeners) told();
    },
    listen(told) {
      listeners.add(told);
      return () => listeners.delete(told);
    },
  };
}

function load(key: string): unknown {
  try {
    return JSON.parse(localStorage.getItem(key) ?? "null");
  } catch {
    return null;
  }
}

function save(key: string, value: unknown): void {
  try {
    localStorage.setItem(key, JSON.stringify(value));
  } catch {
    // Storage is full or forbidden: the choice holds for this visit, which is all that can be promised.
  }
}

/** oneOf gives `value` if it is among `allowed`, else `fallback`. */
export function oneOf<const T>(allowed: readonly T[], value: unknown, fallback: T): T {
  return allowed.includes(value as T) ? (value as T) : fallback;
}

/** recordOf gives the stored value as a record, or an empty one when it is something else. */
export function recordOf(stored: unknown): Record<string, unknown> {
  return typeof stored === "object" && stored !== null ? (stored as Record<string, unknown>) : {};
}
