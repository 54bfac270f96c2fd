// Asks the service whether it is ready, and what its clock says.

export type Ready =
  | { state: "ready"; clockAheadMs: number | null; tookMs: number }
  | { state: "not ready"; words: string }
  | { state: "unreached" };

const mostWords = 300; // letters of the answer that are shown

/** askReady never fails: not being reached is an answer too. `now` and `ask` are handed in for the tests. */
export async function askReady(
  ask: (url: string) => Promise<Response>,
  now: () => number = Date.now,
): Promise<Ready> {
  const before = now();
  try {
    const response = await ask("/readyz");
    const after = now();
    if (!response.ok) {
      const words = (await response.text()).trim().slice(0, mostWords);
      return { state: "not ready", words: words || `it answered ${response.status}` };
    }
    // The Date header (RFC 9110, 6.6.1) counts whole seconds and was written somewhere between asking and answering.
    const date = Date.parse(response.headers.get("date") ?? "");
    const clockAheadMs = Number.isFinite(date) ? (before + after) / 2 - (date + 500) : null;
    return { state: "ready", clockAheadMs, tookMs: after - before };
  } catch {
    return { state: "unreached" };
  }
}
