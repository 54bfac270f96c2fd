// Signed releases as this tablet opens them, and the sheets that they come to: the same rules as in recipes/release.go,
// held to the same test vectors.
import { fromBinary, type Message } from "@bufbuild/protobuf";
import { type Timestamp, timestampMs } from "@bufbuild/protobuf/wkt";
import { FreshnessSchema, ReleaseSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { Distrust } from "./distrust.ts";
import { hexOf } from "./signing.ts";

/** Named is one revision with the digest of its bytes, in hexadecimal. */
export type Named = { revision: string; digest: string };

export type Release = {
  number: number;
  revisions: readonly Named[];
  withdrawn: readonly string[];
  markets: readonly string[];
  branches: readonly string[];
  /** Milliseconds since 1970. */
  effective: number;
  /** Digest of the release before, in hexadecimal; empty for the first. */
  previous: string;
  /** Number of the release that it cancels; 0 is none. */
  cancels: number;
  /** Key that signs every release after this one; empty where the key stays. */
  nextKey: Uint8Array;
};

const instant = (time: Timestamp | undefined) => (time ? timestampMs(time) : 0);

/** openRelease reads a release's bytes. Fails with Distrust where a newer program wrote them. */
export function openRelease(content: Uint8Array): Release {
  const said = knownOnly(fromBinary(ReleaseSchema, content));
  return {
    number: Number(said.number),
    revisions: said.revisions.map(({ revision, sha256 }) => ({ revision, digest: hexOf(sha256) })),
    withdrawn: said.withdrawn,
    markets: said.markets,
    branches: said.branches,
    effective: instant(said.effectiveTime),
    previous: hexOf(said.previousSha256),
    cancels: Number(said.cancels),
    nextKey: said.nextKey,
  };
}

/** openFreshness reads a statement of which release was the newest, and until when that may be believed. */
export function openFreshness(content: Uint8Array) {
  const said = knownOnly(fromBinary(FreshnessSchema, content));
  return {
    release: Number(said.release),
    digest: hexOf(said.releaseSha256),
    said: instant(said.stateTime),
    until: instant(said.expireTime),
  };
}

/** knownOnly refuses a message with fields that this page does not know: it must never reason about half of one. */
function knownOnly<M extends Message>(message: M): M {
  const unknown = (value: unknown): boolean => {
    if (typeof value !== "object" || value === null || value instanceof Uint8Array) return false;
    const { $unknown } = value as { $unknown?: readonly unknown[] };
    return ($unknown?.length ?? 0) > 0 || Object.values(value).some(unknown);
  };
  if (unknown(message))
    throw new Distrust(
      "RECORD_TOO_NEW",
      "It was written by a newer program than this page. Reload the page.",
    );
  return message;
}

export const reaches = ({ markets, branches }: Release, branch: string, market: string): boolean =>
  markets.includes(market) && (branches.length === 0 || branches.includes(branch));

export type SheetOfReleases = {
  /** Newest release in it; 0 is an empty sheet. */
  release: number;
  effective: number;
  /** By revision. */
  entries: readonly Named[];
};

/** inOrder gives the releases that change a branch's sheets, in the order of their effect. */
function inOrder(releases: readonly Release[], branch: string, market: string): Release[] {
  const cancelled = new Set(releases.map(({ cancels }) => cancels).filter((number) => number > 0));
  return releases
    .filter(
      (one) =>
        one.revisions.length + one.withdrawn.length > 0 &&
        !cancelled.has(one.number) &&
        reaches(one, branch, market),
    )
    .toSorted((a, b) => a.effective - b.effective || a.number - b.number);
}

const recordOf = (revision: string): string => revision.split("/").slice(0, 2).join("/");
const byRevision = (a: Named, b: Named) =>
  a.revision < b.revision ? -1 : a.revision > b.revision ? 1 : a.digest < b.digest ? -1 : 1;

function sheetOf(mine: readonly Release[], at: number): SheetOfReleases {
  let [release, effective] = [0, 0];
  const entries = new Map<string, Named>();
  for (const one of mine) {
    if (one.effective > at) break;
    release = Math.max(release, one.number);
    effective = one.effective;
    for (const record of one.withdrawn) entries.delete(record);
    for (const named of one.revisions) entries.set(recordOf(named.revision), named);
  }
  return { release, effective, entries: [...entries.values()].toSorted(byRevision) };
}

/** sheetAt works out what is in force for a branch at an instant, and what comes next; null where nothing does. */
export function sheetAt(
  releases: readonly Release[],
  branch: string,
  market: string,
  at: number,
): { current: SheetOfReleases; next: SheetOfReleases | null } {
  const mine = inOrder(releases, branch, market);
  const later = mine.find(({ effective }) => effective > at);
  return { current: sheetOf(mine, at), next: later ? sheetOf(mine, later.effective) : null };
}

/** wanted gives the revisions that a branch needs: what is in force, and all that its releases will put in force. */
export function wanted(releases: readonly Release[], branch: string, market: string, at: number): Named[] {
  const mine = inOrder(releases, branch, market);
  const later = mine.filter(({ effective }) => effective > at).flatMap(({ revisions }) => revisions);
  return [...sheetOf(mine, at).entries, ...later];
}

/** stillBearing leaves out releases that no sheet from an instant on can come from; the numbers of the others. */
export function stillBearing(
  releases: readonly Release[],
  branch: string,
  market: string,
  from: number,
): Set<number> {
  const mine = inOrder(releases, branch, market);
  const source = new Map<string, number>();
  for (const one of mine) {
    if (one.effective > from) break;
    for (const record of one.withdrawn) source.delete(record);
    for (const { revision } of one.revisions) source.set(recordOf(revision), one.number);
  }
  const holds = new Set(source.values());
  const later = new Set(releases.filter(({ effective }) => effective > from).map(({ number }) => number));
  return new Set(
    releases
      .filter(({ number, cancels }) => holds.has(number) || later.has(number) || later.has(cancels))
      .map(({ number }) => number),
  );
}
