// Words about releases.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import { lastPart, paths } from "../../app/paths.ts";
import type { ReleaseSummary } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";

export type RevisionName = { record: string; number: number };

/** partsOf takes "recipes/glimmer-cotton/revisions/3" apart; null where it is no such name. */
export function partsOf(revision: string): RevisionName | null {
  const found = /^(.+)\/revisions\/(\d{1,15})$/.exec(revision);
  return found ? { record: found[1] ?? "", number: Number(found[2]) } : null;
}

/** revisionWords writes "recipes/glimmer-cotton, revision 3". */
export function revisionWords(revision: string): string {
  const parts = partsOf(revision);
  return parts ? `${parts.record}, revision ${parts.number}` : revision;
}

/** pathTo gives the screen that shows a revision. */
export function pathTo(revision: string): string {
  const parts = partsOf(revision);
  if (!parts) return paths.releases;
  const id = lastPart(parts.record);
  if (parts.record.startsWith("recipes/")) return paths.revision(id, parts.number);
  return parts.record.startsWith("prices/") ? paths.priceList(id) : paths.papers;
}

export const effectiveAt = (release: ReleaseSummary): number =>
  release.effectiveTime ? timestampMs(release.effectiveTime) : 0;

/** branchWords says whom a release reaches. */
export function branchWords(release: ReleaseSummary): string {
  if (release.branches.length === 0) return `all branches in ${release.markets.join(", ")}`;
  const names = release.branches.map(lastPart).join(", ");
  return release.branches.length === 1 ? `only ${names}` : `${release.branches.length} branches: ${names}`;
}

/** shortHash writes the first eight characters of a digest: enough to read out, never to decide by. */
export const shortHash = (digest: Uint8Array): string =>
  [...digest.slice(0, 4)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
