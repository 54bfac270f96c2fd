// An invented head office for the tests of this room: it seals, signs and answers pulls as the server does.
import { create, toBinary } from "@bufbuild/protobuf";
import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import {
  type PullSheetResponse,
  PullSheetResponseSchema,
  type SealedRecord,
  SealedRecordSchema,
  SealedReleaseSchema,
  SheetSchema,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { ReleaseSchema, type Revision, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { digestOf } from "./trust.ts";

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
  async function release(number: bigint, records: readonly SealedRecord[], effective: number) {
    const revisions = records.map(({ name, sha256 }) => ({ revision: name, sha256 }));
    const effectiveTime = timestampFromMs(effective);
    const content = toBinary(ReleaseSchema, create(ReleaseSchema, { number, revisions, effectiveTime }));
    const sha256 = await digestOf(content);
    return create(SealedReleaseSchema, {
      number,
      content,
      sha256,
      signature: await sign(sha256),
      key: "office",
    });
  }
  async function sheet(number: bigint, records: readonly SealedRecord[], effective: number) {
    const entries = records.map(({ name, sha256 }) => ({ revision: name, sha256 }));
    const parts = entries.flatMap(({ revision, sha256 }) => [
      ...new TextEncoder().encode(revision),
      0,
      ...sha256,
    ]);
    const sha = await digestOf(new Uint8Array(parts));
    return create(SheetSchema, {
      release: number,
      entries,
      sha256: sha,
      effectiveTime: timestampFromMs(effective),
    });
  }
  /** answer is what a branch with nothing held is sent: a sheet in force, and the one after it. */
  async function answer(
    now: readonly Revision[],
    next?: { revisions: readonly Revision[]; effective: number },
    number = 41n,
  ): Promise<PullSheetResponse> {
    const records = await Promise.all(now.map(seal));
    const later = next && (await Promise.all(next.revisions.map(seal)));
    return create(PullSheetResponseSchema, {
      newestRelease: next ? number + 1n : number,
      officeKey: key,
      serverTime: timestampFromMs(Date.now()),
      records: [...records, ...(later ?? [])],
      releases: [
        await release(number, records, 0),
        ...(later ? [await release(number + 1n, later, next.effective)] : []),
      ],
      current: await sheet(number, records, 0),
      ...(later ? { next: await sheet(number + 1n, later, next.effective) } : {}),
    });
  }
  return { key, seal, release, sheet, answer };
}
