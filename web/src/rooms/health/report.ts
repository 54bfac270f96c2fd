// The lines of the health report, the same on the screen and in what is copied.
import type { Reach } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import type { ReleaseSummary } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { showAge, showDuration, showInstant } from "../../units/durations.ts";
import { seconds } from "../../units/quantities.ts";
import type { Ready } from "./ready.ts";

export type Line = { words: string; value: string /** Something to look after. */; hot?: boolean };

export type Known = {
  now: number;
  locale: string;
  online: boolean;
  /** null while the answer is on its way. */
  ready: Ready | null;
  version: string;
  signedIn: boolean;
  /** Newest release, undefined when not known, null when there is none. */
  release: ReleaseSummary | null | undefined;
  /** Which branch holds which release; undefined where the person may not see it. */
  reaches: readonly Reach[] | undefined;
};

const clockToleranceMs = 5_000; // below this the Date header and the way there and back explain the difference

const instantOf = (time: { seconds: bigint } | undefined) =>
  time === undefined ? undefined : Number(time.seconds) * 1000;

/** linesOf puts what is known into words. */
export function linesOf(known: Known): Line[] {
  return [
    {
      words: "Network",
      value: known.online ? "this device is online" : "this device is offline",
      hot: !known.online,
    },
    serviceLine(known.ready),
    clockLine(known.ready),
    { words: "Server version", value: known.version || "not known yet" },
    releaseLine(known),
    ...reachLines(known),
  ];
}

function serviceLine(ready: Ready | null): Line {
  const words = "Service";
  if (ready === null) return { words, value: "asking…" };
  if (ready.state === "ready")
    return { words, value: `ready, answered in ${Math.round(ready.tookMs)}\u00a0ms` };
  if (ready.state === "not ready") return { words, value: `not ready: ${ready.words}`, hot: true };
  return { words, value: "not reached", hot: true };
}

function clockLine(ready: Ready | null): Line {
  const words = "Clock of this device";
  if (ready?.state !== "ready" || ready.clockAheadMs === null) return { words, value: "not compared" };
  const ahead = ready.clockAheadMs;
  if (Math.abs(ahead) < clockToleranceMs) return { words, value: "agrees with the service" };
  const by = showDuration(seconds(Math.round(Math.abs(ahead) / 1000)));
  return { words, value: `${by} ${ahead > 0 ? "ahead of" : "behind"} the service: set it right`, hot: true };
}

function releaseLine({ release, signedIn, locale, now }: Known): Line {
  const words = "Newest release";
  if (!signedIn) return { words, value: "shown after signing in" };
  if (release === undefined) return { words, value: "not known yet" };
  if (release === null) return { words, value: "none yet" };
  const from = instantOf(release.effectiveTime);
  if (from === undefined) return { words, value: String(release.number) };
  const age = from > now ? "not in force yet" : showAge(from, now);
  return { words, value: `${release.number}, from ${showInstant(from, locale)}, ${age}` };
}

function reachLines({ reaches, now }: Known): Line[] {
  if (!reaches) return [];
  const behind = reaches.filter((reach) => reach.heldRelease < reach.toldRelease);
  const pulls = reaches.flatMap((reach) => instantOf(reach.pullTime) ?? []);
  return [
    {
      words: "Settings sheets",
      value:
        behind.length === 0
          ? `all ${reaches.length} branches hold what they were told of`
          : `${behind.length} of ${reaches.length} branches hold an older release than they were told of`,
      hot: behind.length > 0,
    },
    {
      words: "Longest without a pull",
      value: pulls.length === 0 ? "no branch has pulled yet" : showAge(Math.min(...pulls), now),
    },
  ];
}

/** reportOf is the text to pass on: the lines, the moment, the browser, the address. */
export function reportOf(lines: readonly Line[], now: number, browser: string): string {
  const all = [
    ...lines,
    { words: "Looked at", value: new Date(now).toISOString() },
    { words: "Browser", value: browser },
  ];
  return `Evenpeel health\n${all.map(({ words, value }) => `${words}: ${value}`).join("\n")}\n`;
}
