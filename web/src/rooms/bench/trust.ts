// Trust is what this tablet checks before it works by anything it pulled: every digest, every signature, that nothing
// went back to an older state, and that the key is the one it knows. Each refusal has a name. The names follow the
// threats that The Update Framework's specification (section 1.5.2) lists for systems like this one.
import { fromBinary } from "@bufbuild/protobuf";
import type { PullSheetResponse, Sheet } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { ReleaseSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";

export type Refusal =
  | "WRONG_BYTES"
  | "WRONG_SIGNATURE"
  | "WRONG_KEY"
  | "ROLLBACK"
  | "NOT_RELEASED"
  | "WRONG_SHEET"
  | "MISSING"
  | "TOO_MUCH";

/** Distrust says why something pulled is not taken. */
export class Distrust extends Error {
  readonly reason: Refusal;
  constructor(reason: Refusal, words: string) {
    super(words);
    this.reason = reason;
  }
}

/** What is held already: the key it was checked by, and the releases by number. */
export type Held = {
  officeKey: Uint8Array;
  newestRelease: bigint;
  releases: ReadonlyMap<bigint, Uint8Array>;
};

const mostRecords = 5_000;
const mostReleases = 20_000;

/** canCheck tells whether this browser checks signatures here: it does on a secure address only. */
export async function canCheck(): Promise<boolean> {
  try {
    await crypto.subtle.importKey("raw", new Uint8Array(32), "Ed25519", false, ["verify"]);
    return true;
  } catch {
    return false;
  }
}

/** Named is what signed releases name: digests by the name of the revision. */
export type Named = ReadonlyMap<string, readonly Uint8Array[]>;

/** names tells whether a signed release names a revision with just these bytes. */
export const names = (named: Named, revision: string, sha256: Uint8Array): boolean =>
  named.get(revision)?.some((digest) => same(digest, sha256)) ?? false;

/**
 * check goes through a whole sheet: what came, put together with what was held. Fails with Distrust. `held` is what
 * this tablet trusted before, or null on its first day: the first key is taken as it comes and kept from then on.
 */
export async function check(pulled: PullSheetResponse, held: Held | null): Promise<Named> {
  const { officeKey, records, releases, current, next, newestRelease } = pulled;
  if (records.length > mostRecords || releases.length > mostReleases)
    throw new Distrust("TOO_MUCH", "More came than a sheet ever holds.");
  if (held && !same(held.officeKey, officeKey))
    throw new Distrust(
      "WRONG_KEY",
      `It is signed by another key (${keyWords(officeKey)}) than this tablet knows (${keyWords(held.officeKey)}).`,
    );
  if (held && newestRelease < held.newestRelease)
    throw new Distrust(
      "ROLLBACK",
      `It ends at release ${newestRelease}; this tablet holds release ${held.newestRelease} already.`,
    );
  const key = await crypto.subtle.importKey("raw", own(officeKey), "Ed25519", false, ["verify"]);
  const named = new Map<string, Uint8Array[]>();
  for (const release of releases) {
    const words = `Release ${release.number}`;
    await checkDigest(release.content, release.sha256, words);
    if (!(await crypto.subtle.verify("Ed25519", key, own(release.signature), own(release.sha256))))
      throw new Distrust("WRONG_SIGNATURE", `${words} is not signed by head office's key.`);
    const said = fromBinary(ReleaseSchema, release.content);
    if (said.number !== release.number)
      throw new Distrust("WRONG_BYTES", `${words} says that it is release ${said.number}.`);
    const known = held?.releases.get(release.number);
    if (known && !same(known, release.sha256))
      throw new Distrust("ROLLBACK", `${words} is another one than this tablet holds.`);
    for (const one of said.revisions)
      named.set(one.revision, [...(named.get(one.revision) ?? []), one.sha256]);
  }
  const contents = new Map<string, Uint8Array>();
  for (const record of records) {
    await checkDigest(record.content, record.sha256, record.name);
    contents.set(record.name, record.sha256);
  }
  for (const sheet of [current, next]) if (sheet) await checkSheet(sheet, named, contents);
  return named;
}

async function checkSheet(
  sheet: Sheet,
  named: Named,
  contents: ReadonlyMap<string, Uint8Array>,
): Promise<void> {
  const parts: Uint8Array[] = [];
  for (const { revision, sha256 } of sheet.entries) {
    if (!names(named, revision, sha256))
      throw new Distrust("NOT_RELEASED", `No signed release names ${revision} with these bytes.`);
    const content = contents.get(revision);
    if (!content) throw new Distrust("MISSING", `${revision} is named and did not come.`);
    if (!same(content, sha256))
      throw new Distrust("WRONG_BYTES", `${revision} is not what the release names.`);
    parts.push(new TextEncoder().encode(revision), new Uint8Array(1), sha256);
  }
  if (!same(await digestOf(joined(parts)), sheet.sha256))
    throw new Distrust("WRONG_SHEET", `The sheet of release ${sheet.release} is not whole.`);
}

async function checkDigest(content: Uint8Array, sha256: Uint8Array, words: string): Promise<void> {
  if (!same(await digestOf(content), sha256))
    throw new Distrust("WRONG_BYTES", `${words} was changed on the way or here.`);
}

/** digestOf gives the SHA-256 of bytes. */
export async function digestOf(bytes: Uint8Array): Promise<Uint8Array> {
  return new Uint8Array(await crypto.subtle.digest("SHA-256", own(bytes)));
}

export const same = (a: Uint8Array, b: Uint8Array): boolean =>
  a.length === b.length && a.every((byte, at) => byte === b[at]);

/** keyWords writes the beginning of a key, to be compared on the telephone. */
export const keyWords = (key: Uint8Array): string =>
  [...key.slice(0, 6)]
    .map((byte) => byte.toString(16).padStart(2, "0"))
    .join("")
    .replace(/(.{4})(?=.)/g, "$1 ");

/** own is a copy with a buffer of its own, as WebCrypto's types ask for. */
const own = (bytes: Uint8Array): Uint8Array<ArrayBuffer> => new Uint8Array(bytes);

function joined(parts: readonly Uint8Array[]): Uint8Array {
  const whole = new Uint8Array(parts.reduce((sum, part) => sum + part.length, 0));
  let at = 0;
  for (const part of parts) {
    whole.set(part, at);
    at += part.length;
  }
  return whole;
}
