// Where a branch stands with the releases meant for it. A branch that was not heard is silent: that says nothing about
// what it works by, because it keeps the next sheet and changes to it by itself.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import type { Reach } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";

export type Standing = "holds it" | "behind" | "silent" | "never heard";

/** Longer than a night and a day off; common practice, no source. */
export const silentAfterMs = 48 * 3_600_000;

/** standingOf judges one branch at the instant `now`. */
export function standingOf(reach: Reach, now: number): Standing {
  if (reach.heldRelease >= reach.toldRelease) return "holds it";
  if (!reach.pullTime) return "never heard";
  return now - timestampMs(reach.pullTime) > silentAfterMs ? "silent" : "behind";
}

/** findingOf says it in one sentence. */
export function findingOf(standings: readonly Standing[]): string {
  const count = (which: Standing) => standings.filter((one) => one === which).length;
  const silent = count("silent") + count("never heard");
  const all = standings.length;
  const parts = [`${count("holds it")} of ${all} branches hold everything that is meant for them`];
  if (count("behind") > 0) parts.push(`${count("behind")} behind`);
  if (silent > 0) parts.push(`${silent} silent`);
  return parts.join(", ");
}
