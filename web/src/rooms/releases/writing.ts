// Words about releases.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import { lastPart, paths } from "../../app/paths.ts";
import {
  ReleaseAct,
  ReleaseState,
  type ReleaseSummary,
} from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { showInstant } from "../../units/durations.ts";

export type RevisionName = { record: string; number: number };

/** partsOf takes "recipes/glimmer-cotton/revisions/3" apart; null where it is no such name. */
export function partsOf(revision: string): RevisionName | null {
  const found = /^(.+)\/revisions\/(\d{1,15})$/.exec(revision);
  return found ? { record: found[1] ?? "", number: Number(found[2]) } : null;
}

/** Titles gives the title of a record or branch by its name. */
export type Titles = (name: string) => string;

/** revisionWords writes "Glimmer glitter on cotton, revision 3". */
export function revisionWords(revision: string, titles: Titles): string {
  const parts = partsOf(revision);
  return parts ? `${titles(parts.record)}, revision ${parts.number}` : revision;
}

/** sentence ends what somebody wrote with a full stop, unless they did. */
export const sentence = (words: string): string =>
  words === "" || /[.!?]$/.test(words) ? words : `${words}.`;

/** pathTo gives the screen that shows a revision. */
export function pathTo(revision: string): string {
  const parts = partsOf(revision);
  if (!parts) return paths.releases;
  const id = lastPart(parts.record);
  if (parts.record.startsWith("recipes/")) return paths.revision(id, parts.number);
  return parts.record.startsWith("prices/") ? paths.priceList(id) : paths.papers;
}

/** stateWords says where a release stands, with its instant. */
export function stateWords(release: ReleaseSummary, locale: string): string {
  const at = showInstant(effectiveAt(release), locale);
  const end = release.endTime ? showInstant(timestampMs(release.endTime), locale) : "";
  switch (release.state) {
    case ReleaseState.SCHEDULED:
      return `Scheduled for ${at}`;
    case ReleaseState.CANCELLED:
      return `Cancelled by release ${release.cancelledBy}, never in force`;
    case ReleaseState.PASSED:
      return `In force from ${at} to ${end || "a later release"}`;
    case ReleaseState.WITHDRAWN:
      return `In force from ${at}, taken out of force ${end || "since"}`;
    default:
      return `In force since ${at}`;
  }
}

/** actWords says what a release does, in a few words. */
export function actWords(release: ReleaseSummary, titles: Titles): string {
  const withdrawn = release.withdrawn.map(titles).join("; ");
  switch (release.act) {
    case ReleaseAct.CANCEL:
      return `Cancels release ${release.cancels}`;
    case ReleaseAct.KEY:
      return "Hands over to a new office key";
    case ReleaseAct.WITHDRAW:
      return `Takes out of force: ${withdrawn}`;
    default: {
      const few = release.revisions
        .slice(0, 4)
        .map((one) => revisionWords(one, titles))
        .join("; ");
      const rest = release.revisions.length - 4;
      const out = withdrawn === "" ? "" : `; takes out of force: ${withdrawn}`;
      return (rest > 0 ? `${few}; and ${rest} more` : few) + out;
    }
  }
}

export const effectiveAt = (release: ReleaseSummary): number =>
  release.effectiveTime ? timestampMs(release.effectiveTime) : 0;

/** branchWords says whom a release reaches. */
export function branchWords(
  release: { branches: readonly string[]; markets: readonly string[] },
  titles: Titles,
): string {
  if (release.branches.length === 0) return `all branches in ${release.markets.join(", ")}`;
  const names = release.branches.map(titles).join(", ");
  return release.branches.length === 1 ? `${names} only` : `${release.branches.length} branches: ${names}`;
}

/** shortHash writes the first eight characters of a digest: enough to read out, never to decide by. */
export const shortHash = (digest: Uint8Array): string =>
  [...digest.slice(0, 4)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
