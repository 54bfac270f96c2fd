// An invented head office for the tests of this room: it seals, signs and answers pulls as the server does.
import { create, toBinary } from "@bufbuild/protobuf";
import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import {
  type PullSheetResponse,
  PullSheetResponseSchema,
  type SealedRecord,
  SealedRecordSchema,
  type SealedRelease,
  SealedReleaseSchema,
  SheetSchema,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import {
  FreshnessSchema,
  ReleaseSchema,
  type Revision,
  RevisionSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import { digestOf } from "./signing.ts";

export type Office = Awaited<ReturnType<typeof newOffice>>;

/** newOffice makes an office with a key of its own. */
export async function newOffice() {
  const keys = (await crypto.subtle.generateKey("Ed25519", true, ["sign", "verify"])) as CryptoKeyPair;
  const key = new Uint8Array(await crypto.subtle.exportKey("raw", keys.publicKey));
  const sign = async (bytes: Uint8Array) =>
    new Uint8Array(await crypto.subtle.sign("Ed25519", keys.privateKey, new Uint8Array(bytes)));

  async function seal(revision: Revision): Promise<SealedRecord> {
    const content = toBinary(RevisionSchema, revision);
    const name = `${revision.record}/revisions/${revision.number}`;
    return create(SealedRecordSchema, { name, content, sha256: await digestOf(content) });
  }
  async function released(
    number: bigint,
    records: readonly SealedRecord[],
    effective: number,
    before: SealedRelease | undefined,
  ): Promise<SealedRelease> {
    const content = toBinary(
      ReleaseSchema,
      create(ReleaseSchema, {
        number,
        revisions: records.map(({ name, sha256 }) => ({ revision: name, sha256 })),
        markets: ["EU"],
        effectiveTime: timestampFromMs(effective),
        previousSha256: before?.sha256 ?? new Uint8Array(),
      }),
    );
    const sha256 = await digestOf(content);
    return create(SealedReleaseSchema, {
      number,
      content,
      sha256,
      signature: await sign(sha256),
      key: "office",
    });
  }
  const sheet = (release: bigint, records: readonly SealedRecord[]) =>
    create(SheetSchema, {
      release,
      entries: records
        .map(({ name, sha256 }) => ({ revision: name, sha256 }))
        .toSorted((a, b) => (a.revision < b.revision ? -1 : 1)),
    });

  /** answer is what a branch that holds nothing is sent: `number` releases, the last in force, and what comes after. */
  async function answer(
    now: readonly Revision[],
    {
      number = 41,
      next,
    }: { number?: number; next?: { revisions: readonly Revision[]; effective: number } } = {},
  ): Promise<PullSheetResponse> {
    const records = await Promise.all(now.map(seal));
    const later = await Promise.all((next?.revisions ?? []).map(seal));
    const releases: SealedRelease[] = [];
    for (let at = 1; at <= number; at++)
      releases.push(await released(BigInt(at), records, at, releases.at(-1)));
    if (next) releases.push(await released(BigInt(number + 1), later, next.effective, releases.at(-1)));
    const newest = releases.at(-1);
    const said = Date.now();
    const content = toBinary(
      FreshnessSchema,
      create(FreshnessSchema, {
        release: newest?.number ?? 0n,
        releaseSha256: newest?.sha256 ?? new Uint8Array(),
        stateTime: timestampFromMs(said),
        expireTime: timestampFromMs(said + 3_600_000),
      }),
    );
    const text = [...new TextEncoder().encode("evenpeel freshness\n"), ...(await digestOf(content))];
    const inNext = new Map(
      [...records, ...later].map((record) => [record.name.split("/revisions/")[0], record]),
    );
    const byName = new Map([...records, ...later].map((record) => [record.name, record]));
    return create(PullSheetResponseSchema, {
      newestRelease: newest?.number ?? 0n,
      officeKey: key,
      market: "EU",
      serverTime: timestampFromMs(said),
      records: [...byName.values()],
      releases,
      current: sheet(BigInt(number), records),
      ...(next ? { next: sheet(BigInt(number + 1), [...inNext.values()]) } : {}),
      freshness: { content, signature: await sign(new Uint8Array(text)), key: "office" },
    });
  }
  return { key, seal, answer };
}

/** since is what a branch that holds releases up to a number is sent of a whole answer. */
export function since(answer: PullSheetResponse, held: bigint): PullSheetResponse {
  return create(PullSheetResponseSchema, {
    ...answer,
    releases: answer.releases.filter(({ number }) => number > held),
  });
}
