import "fake-indexeddb/auto";
import { clone, create } from "@bufbuild/protobuf";
import { beforeAll, beforeEach, describe, expect, it } from "vitest";
import {
  type PullSheetResponse,
  PullSheetResponseSchema,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type Revision, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { listRecord, recipeRecord } from "./hall.ts";
import { forgetHeld, joinedWith, keepHeld, readHeld } from "./heldSheet.ts";
import { newOffice, type Office } from "./officeFake.ts";
import { tablet } from "./tablet.ts";
import { check, digestOf, type Held, names } from "./trust.ts";

let office: Office;
let good: PullSheetResponse;
const newer: Revision = create(RevisionSchema, { ...recipeRecord, number: 4n });
beforeAll(async () => {
  office = await newOffice();
  good = await office.answer([recipeRecord, listRecord], { revisions: [newer, listRecord], effective: 9e12 });
});

type Bytes = Uint8Array | undefined;
const spoil = (bytes: Bytes) => {
  if (bytes) bytes[0] = (bytes[0] ?? 0) ^ 1;
};
const held = (of: PullSheetResponse): Held => ({
  officeKey: of.officeKey,
  newestRelease: of.newestRelease,
  releases: new Map(of.releases.map(({ number, sha256 }) => [number, sha256])),
});

describe("what is pulled", () => {
  it("is trusted when every digest and signature is right, and tells what is named", async () => {
    const named = await check(good, null);
    const digest = good.records[0]?.sha256 ?? new Uint8Array();
    expect(names(named, "recipes/glimmer-cotton/revisions/3", digest)).toBe(true);
    expect(names(named, "recipes/glimmer-cotton/revisions/3", new Uint8Array(32))).toBe(false);
  });

  const threats: {
    threat: string;
    reason: string;
    source: string;
    change: (pulled: PullSheetResponse) => unknown;
  }[] = [
    {
      threat: "a record was changed on the way",
      reason: "WRONG_BYTES",
      source: "TUF specification 1.0.33, 1.5.2: arbitrary software installation",
      change: (pulled) => spoil(pulled.records[0]?.content),
    },
    {
      threat: "a record and its digest were changed together",
      reason: "WRONG_BYTES",
      source: "TUF specification 1.0.33, 1.5.2: arbitrary software installation",
      change: async (pulled) => {
        const record = pulled.records[0];
        spoil(record?.content);
        if (record) record.sha256 = await digestOf(record.content);
      },
    },
    {
      threat: "a release was changed, with its digest",
      reason: "WRONG_SIGNATURE",
      source: "TUF specification 1.0.33, 1.5.2: arbitrary software installation",
      change: async (pulled) => {
        const release = pulled.releases[0];
        if (!release) return;
        spoil(release.content);
        release.sha256 = await digestOf(release.content);
      },
    },
    {
      threat: "a signature was changed",
      reason: "WRONG_SIGNATURE",
      source: "RFC 8032 (2017), 5.1.7: a signature that does not verify is rejected",
      change: (pulled) => spoil(pulled.releases[0]?.signature),
    },
    {
      threat: "the number beside a release is another one",
      reason: "WRONG_BYTES",
      source: "TUF specification 1.0.33, 1.5.2: rollback",
      change: (pulled) => {
        if (pulled.releases[0]) pulled.releases[0].number = 7n;
      },
    },
    {
      threat: "a sheet mixes in a record that no release names",
      reason: "NOT_RELEASED",
      source: "TUF specification 1.0.33, 1.5.2: mix-and-match",
      change: (pulled) => {
        if (pulled.current?.entries[0])
          pulled.current.entries[0].revision = "recipes/glimmer-cotton/revisions/9";
      },
    },
    {
      threat: "an entry was left out of the sheet",
      reason: "WRONG_SHEET",
      source: "TUF specification 1.0.33, 1.5.2: mix-and-match",
      change: (pulled) => pulled.current?.entries.pop(),
    },
    {
      threat: "a record did not come",
      reason: "MISSING",
      source: "from memory",
      change: (pulled) => pulled.records.shift(),
    },
    {
      threat: "it never ends",
      reason: "TOO_MUCH",
      source: "TUF specification 1.0.33, 1.5.2: endless data",
      change: (pulled) => {
        const [record] = pulled.records;
        if (record) pulled.records = Array(6_000).fill(record);
      },
    },
    {
      threat: "it ends at an older release",
      reason: "ROLLBACK",
      source: "TUF specification 1.0.33, 1.5.2: rollback",
      change: (pulled) => {
        pulled.newestRelease = 40n;
      },
    },
  ];
  it.each(threats)("is refused where $threat: $reason ($source)", async ({ reason, source, change }) => {
    expect(source).not.toBe("");
    const pulled = clone(PullSheetResponseSchema, good);
    await change(pulled);
    await expect(check(pulled, held(good))).rejects.toMatchObject({ reason });
  });
  it("is refused where another key signed it, however well", async () => {
    const other = await (await newOffice()).answer([recipeRecord, listRecord], undefined, 99n);
    await expect(check(other, null)).resolves.toBeDefined();
    await expect(check(other, held(good))).rejects.toMatchObject({ reason: "WRONG_KEY" });
  });
  it("is refused where a release held already says something else now", async () => {
    const forked = await office.answer([newer, listRecord], {
      revisions: [newer, listRecord],
      effective: 9e12,
    });
    await expect(check(forked, held(good))).rejects.toMatchObject({ reason: "ROLLBACK" });
  });
  it("checks a signature as RFC 8032 gives it (7.1, test 2)", async () => {
    const bytes = (hex: string) =>
      Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
    const key = bytes("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c");
    const signature = bytes(
      "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da" +
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    );
    const imported = await crypto.subtle.importKey("raw", new Uint8Array(key), "Ed25519", false, ["verify"]);
    const verify = (message: number) =>
      crypto.subtle.verify("Ed25519", imported, new Uint8Array(signature), new Uint8Array([message]));
    expect([await verify(0x72), await verify(0x73)]).toEqual([true, false]);
  });
});

describe("the sheet held", () => {
  const branch = "branches/hall";
  const sheet = async (pulled: PullSheetResponse) => ({
    pulled,
    asOf: 1,
    ahead: 0,
    named: await check(pulled, null),
  });
  beforeEach(() => forgetHeld(branch));

  it("is put together from what was held and what changed", async () => {
    const before = await sheet(await office.answer([recipeRecord, listRecord]));
    const delta = clone(PullSheetResponseSchema, good);
    delta.records = delta.records.filter(({ name }) => name.endsWith("/4"));
    delta.releases = delta.releases.slice(1);
    const whole = joinedWith(before, delta);
    await expect(check(whole, held(before.pulled))).resolves.toBeDefined();
    expect(whole.records).toHaveLength(3);
  });
  it("is checked again when it is read, so that a tampered cache is refused", async () => {
    await keepHeld(branch, await sheet(good));
    expect((await readHeld(branch))?.pulled.newestRelease).toBe(42n);
    const kept = await (await tablet()).get("sheets", branch);
    if (!kept) throw new Error("nothing kept");
    const at = kept.bytes.length - 200;
    kept.bytes[at] = (kept.bytes[at] ?? 0) ^ 1;
    await (await tablet()).put("sheets", kept);
    await expect(readHeld(branch)).rejects.toThrow();
  });
});
