// Trust is what this tablet believes about head office, and what it checks before it works by anything it pulled: every
// digest, every signature, the whole chain of releases, and that the newest is the newest. It is recipes/trust.go once
// more, held to the same vectors; the threats are those of The Update Framework's specification, section 1.5.2.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import type { PullSheetResponse, Sheet } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { Distrust, type Refusal } from "./distrust.ts";
import {
  type Named,
  openFreshness,
  openRelease,
  type Release,
  reaches,
  sheetAt,
  stillBearing,
  wanted,
} from "./signedRelease.ts";
import { digestOf, hexOf, signedBy } from "./signing.ts";

/** Limits of one answer, so that a server that never stops sending is left. */
const most = { releases: 5_000, records: 5_000, bytes: 8 << 20 };
const hour = 3_600_000; // ms
/** How far two clocks may differ before neither can judge what is fresh. */
const mostDrift = hour;
/** How long a statement of freshness may be believed. */
const freshFor = 25 * hour;

export type Trusted = {
  branch: string;
  market: string;
  /** Ed25519 key that signs the next release. */
  key: Uint8Array;
  /** Keys that the office gave up, oldest first. */
  retired: readonly Uint8Array[];
  /** Newest accepted release; 0 is none. */
  release: number;
  /** Its digest, in hexadecimal; empty for none. */
  digest: string;
  /** When the newest was last said to be the newest, and until when that may be believed; ms since 1970. */
  said: number;
  until: number;
  /** Sealed releases for the branch that are in force or to come, and what cancels them, by number. */
  bearing: readonly Uint8Array[];
};

/** pinned is where trust begins: the office's key. */
export const pinned = (key: Uint8Array, branch: string, market: string): Trusted => ({
  branch,
  market,
  key,
  retired: [],
  release: 0,
  digest: "",
  said: 0,
  until: 0,
  bearing: [],
});

/** releasesOf opens what is trusted. */
export const releasesOf = ({ bearing }: Trusted): Release[] => bearing.map(openRelease);

const refuse = (reason: Refusal, words: string): never => {
  throw new Distrust(reason, words);
};
const mixed = (words: string) => refuse("ANSWER_MIXED", `${words} Nothing of it is used.`);

/**
 * accept judges an answer and gives what is trusted after it. Fails with Distrust, and then nothing changed. `has` tells
 * whether the bytes of a digest are held here, checked; `now` is this tablet's clock in ms.
 */
export async function accept(
  before: Trusted,
  answer: PullSheetResponse,
  has: (digest: string) => boolean,
  now: number,
): Promise<Trusted> {
  const size = [...answer.releases, ...answer.records].reduce((sum, { content }) => sum + content.length, 0);
  if (answer.releases.length > most.releases || answer.records.length > most.records || size > most.bytes)
    refuse("ANSWER_TOO_LARGE", "More came than a settings sheet can be. Nothing of it is used.");
  const serverTime = answer.serverTime ? timestampMs(answer.serverTime) : 0;
  if (Math.abs(serverTime - now) > mostDrift)
    refuse(
      "CLOCK_DIFFERS",
      "This tablet’s clock and the server’s differ by more than an hour. Set the clock.",
    );
  const next = await follow(before, answer, now);
  const fresh = await freshness(next, answer, before, now);
  const releases = releasesOf(next);
  checkSheets(next, releases, answer, serverTime);
  await checkRecords(next, releases, answer, has, serverTime);
  return { ...next, ...fresh };
}

/** follow walks along the releases that came: each is signed, is the next one, and names the one before. */
async function follow(before: Trusted, answer: PullSheetResponse, now: number): Promise<Trusted> {
  const at = { ...before };
  const bearing = [...before.bearing];
  for (const { number, content, sha256, signature } of answer.releases) {
    const digest = await checkedDigest(content, sha256, `Release ${number}`);
    await checkSignature(at, digest, signature, `Release ${number}`);
    const release = openRelease(content);
    if (release.number !== at.release + 1)
      refuse(
        "RELEASE_MISSING",
        `Release ${at.release + 1} should come next, but release ${release.number} came.`,
      );
    if (release.previous !== at.digest)
      refuse("RELEASE_CHAIN_BROKEN", `Release ${release.number} does not follow the one held here.`);
    at.release = release.number;
    at.digest = hexOf(digest);
    if (release.nextKey.length > 0) {
      at.retired = [...at.retired, at.key];
      at.key = release.nextKey;
    }
    if (BigInt(release.number) !== number) mixed(`Release ${release.number} was sent as release ${number}.`);
    if (reaches(release, before.branch, before.market)) bearing.push(content);
  }
  const opened = bearing.map(openRelease);
  const bears = stillBearing(opened, before.branch, before.market, now - 2 * mostDrift);
  return { ...at, bearing: bearing.filter((_, index) => bears.has(opened[index]?.number ?? 0)) };
}

async function checkSignature(at: Trusted, text: Uint8Array, signature: Uint8Array, words: string) {
  if (await signedBy(at.key, text, signature)) return;
  for (const key of at.retired)
    if (await signedBy(key, text, signature))
      refuse("KEY_RETIRED", `${words} is signed with a key that head office gave up.`);
  refuse("SIGNATURE_WRONG", `${words} is not signed with head office’s key.`);
}

const freshnessMark = new TextEncoder().encode("evenpeel freshness\n");

/** freshness judges the statement that came, by the key at the end of the chain. */
async function freshness(at: Trusted, answer: PullSheetResponse, before: Trusted, now: number) {
  const { content = new Uint8Array(), signature = new Uint8Array() } = answer.freshness ?? {};
  if (content.length === 0)
    refuse("FRESHNESS_MISSING", "The server does not say which release is the newest.");
  const text = new Uint8Array([...freshnessMark, ...(await digestOf(content))]);
  await checkSignature(at, text, signature, "What the server says about the newest release");
  const said = openFreshness(content);
  const until = Math.min(said.until, said.said + freshFor);
  if (said.said > now + mostDrift)
    refuse("CLOCK_DIFFERS", "This tablet’s clock is behind what head office signed. Set the clock.");
  if (until <= now)
    refuse("FRESHNESS_EXPIRED", "What the server says about the newest release is too old to be believed.");
  if (said.said < before.said - mostDrift)
    refuse("FRESHNESS_OLD", "The server repeats what was said before something newer that is known here.");
  if (said.release < before.release)
    refuse(
      "RELEASE_ROLLED_BACK",
      `The server says that release ${said.release} is the newest; this tablet holds release ${before.release}.`,
    );
  if (said.release > at.release)
    refuse(
      "RELEASE_WITHHELD",
      `Release ${said.release} exists, but the server sent no further than ${at.release}.`,
    );
  if (said.release < at.release || BigInt(said.release) !== answer.newestRelease)
    mixed(`The server sent release ${at.release} and names release ${answer.newestRelease} as the newest.`);
  if (said.digest !== at.digest)
    refuse(
      "RELEASE_CHAIN_BROKEN",
      `Release ${at.release} is held here with other content than head office names.`,
    );
  return { said: Math.max(said.said, before.said), until: Math.max(until, before.until) };
}

/** checkSheets: what the server calls in force is what its own signed releases come to. */
function checkSheets(
  at: Trusted,
  releases: readonly Release[],
  answer: PullSheetResponse,
  serverTime: number,
) {
  const { current, next } = sheetAt(releases, at.branch, at.market, serverTime);
  if (!sameEntries(current.entries, answer.current))
    mixed("What the server calls in force is not what the signed releases put in force.");
  if (next === null ? answer.next !== undefined : !answer.next || !sameEntries(next.entries, answer.next))
    mixed("What the server says comes next is not what the signed releases say.");
}

const sameEntries = (entries: readonly Named[], sheet: Sheet | undefined): boolean =>
  entries.length === (sheet?.entries.length ?? 0) &&
  entries.every(({ revision, digest }, at) => {
    const said = sheet?.entries[at];
    return said?.revision === revision && hexOf(said.sha256) === digest;
  });

/** checkRecords: each record that came is asked for and right, and none is missing. */
async function checkRecords(
  at: Trusted,
  releases: readonly Release[],
  answer: PullSheetResponse,
  has: (digest: string) => boolean,
  serverTime: number,
) {
  const key = ({ revision, digest }: Named) => `${revision} ${digest}`;
  const asked = wanted(releases, at.branch, at.market, serverTime);
  const names = new Set(asked.map(key));
  const came = new Set<string>();
  for (const { name, content, sha256 } of answer.records) {
    const digest = hexOf(await checkedDigest(content, sha256, name));
    if (!names.has(key({ revision: name, digest })))
      refuse("RECORD_NOT_ASKED", `The server sent ${name}, which no release puts in force here.`);
    came.add(key({ revision: name, digest }));
  }
  for (const one of asked)
    if (!came.has(key(one)) && !has(one.digest))
      refuse("RECORD_MISSING", `${one.revision} is in force or comes next, but its content did not come.`);
}

/** checkedDigest gives the digest of bytes. Fails with BYTES_CHANGED where it is not the one named beside them. */
export async function checkedDigest(
  content: Uint8Array,
  sha256: Uint8Array,
  words: string,
): Promise<Uint8Array> {
  const digest = await digestOf(content);
  if (hexOf(digest) !== hexOf(sha256)) refuse("BYTES_CHANGED", `${words} was changed on the way or here.`);
  return digest;
}
