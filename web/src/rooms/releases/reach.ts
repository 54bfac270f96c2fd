// How far a release came at a branch. A branch that was not heard is silent: that says nothing about what it works by,
// because it keeps the next sheet and changes to it by itself.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import { type Reach, ReachStage } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";

export const stages = [ReachStage.TOLD, ReachStage.HOLDING, ReachStage.OPENED, ReachStage.USED] as const;

export const stageWords: Record<ReachStage, string> = {
  [ReachStage.UNSPECIFIED]: "nothing is meant for it",
  [ReachStage.TOLD]: "told, not held yet",
  [ReachStage.HOLDING]: "holds it",
  [ReachStage.OPENED]: "opened a card of it",
  [ReachStage.USED]: "used it in a run",
};

/** findingOf says it in one sentence. */
export function findingOf(reaches: readonly Reach[]): string {
  const hold = reaches.filter(({ stage }) => stage >= ReachStage.HOLDING || stage === ReachStage.UNSPECIFIED);
  const used = reaches.filter(({ stage }) => stage === ReachStage.USED);
  const silent = reaches.filter((reach) => reach.silent);
  const parts = [`${hold.length} of ${reaches.length} branches hold everything that is meant for them`];
  if (used.length > 0) parts.push(`${used.length} used it`);
  if (silent.length > 0) parts.push(`${silent.length} silent`);
  return parts.join(", ");
}

export type Stair = { at: number; branch: string };

/** stairsOf gives when each branch that was told of a release came to hold it, in order of time. */
export function stairsOf(reaches: readonly Reach[], number: bigint): { told: number; stairs: Stair[] } {
  const meant = reaches.filter(({ toldRelease }) => toldRelease >= number);
  const stairs = meant
    // The newest release held says since when; one that is newer than this came later, so this was held at the latest then.
    .filter(({ heldRelease, holdTime }) => heldRelease >= number && holdTime !== undefined)
    .map(({ branch, holdTime }) => ({ branch, at: holdTime ? timestampMs(holdTime) : 0 }))
    .sort((a, b) => a.at - b.at);
  return { told: meant.length, stairs };
}
