// The vectors are those of recipes/testdata/trust, which the Go client is held to as well.
import "fake-indexeddb/auto";
import { create, fromJson, type JsonValue } from "@bufbuild/protobuf";
import { base64Decode } from "@bufbuild/protobuf/wire";
import { describe, expect, it } from "vitest";
import { PullSheetResponseSchema } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { listRecord, recipeRecord } from "./hall.ts";
import { forgetHeld, keepHeld, readHeld, sheetsOf, taken } from "./heldSheet.ts";
import { newOffice, since } from "./officeFake.ts";
import { hexOf, signedBy } from "./signing.ts";
import { tablet } from "./tablet.ts";
import { accept, type Trusted } from "./trust.ts";

type Kept = {
  branch: string;
  market: string;
  key: string;
  retired: string[] | null;
  release: number;
  digest: string;
  said: string;
  until: string;
  bearing: string[] | null;
};
type Vector = {
  name: string;
  threat: string;
  source: string;
  now: string;
  trusted: Kept;
  held: string[] | null;
  answer: JsonValue;
  want: string;
  after?: Kept;
};

const vectors = Object.values(
  import.meta.glob<Vector>("../../../../recipes/testdata/trust/*.json", { eager: true, import: "default" }),
);

const trustedOf = (kept: Kept): Trusted => ({
  branch: kept.branch,
  market: kept.market,
  key: base64Decode(kept.key),
  retired: (kept.retired ?? []).map(base64Decode),
  release: kept.release,
  digest: hexOf(base64Decode(kept.digest)),
  said: Date.parse(kept.said),
  until: Date.parse(kept.until),
  bearing: (kept.bearing ?? []).map(base64Decode),
});

describe("what is pulled", () => {
  it("is held to all the vectors", () => expect(vectors.length).toBeGreaterThan(30));
  it.each(vectors)("$name: $want ($threat; $source)", async (vector) => {
    expect(vector.source).not.toBe("");
    const answer = fromJson(PullSheetResponseSchema, vector.answer);
    const held = new Set(vector.held ?? []);
    const judged = accept(
      trustedOf(vector.trusted),
      answer,
      (digest) => held.has(digest),
      Date.parse(vector.now),
    );
    if (vector.want !== "") await expect(judged).rejects.toMatchObject({ reason: vector.want });
    else expect(await judged).toEqual(vector.after && trustedOf(vector.after));
  });
  it("checks a signature as RFC 8032 (2017) gives it, 7.1, test 2", async () => {
    const bytes = (hex: string) =>
      Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
    const key = bytes("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c");
    const signature = bytes(
      "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da" +
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    );
    const signed = (message: number) => signedBy(key, new Uint8Array([message]), signature);
    expect([await signed(0x72), await signed(0x73)]).toEqual([true, false]);
  });
});

describe("the sheet held", () => {
  const branch = "branches/hall";

  it("grows by what changed, knows what comes next, and forgets what no sheet needs", async () => {
    const office = await newOffice();
    const newer = create(RevisionSchema, { ...recipeRecord, number: 4n });
    const effective = Date.now() + 60_000;
    const whole = await office.answer([recipeRecord, listRecord], {
      number: 3,
      next: { revisions: [newer], effective },
    });
    const held = await taken(null, whole, branch, Date.now());
    expect(held.records).toHaveLength(3);
    const { current, next } = sheetsOf(held, Date.now());
    expect([current.release, next?.release, next?.effective]).toEqual([3, 4, effective]);
    expect(sheetsOf(held, effective + 60_000).current.entries.map(({ revision }) => revision)).toContain(
      "recipes/glimmer-cotton/revisions/4",
    );
    const again = await taken(held, since(whole, 4n), branch, Date.now());
    expect(again.trusted.release).toBe(4);
  });
  it("refuses what another office says, once it knows one", async () => {
    const [office, other] = [await newOffice(), await newOffice()];
    const held = await taken(null, await office.answer([recipeRecord], { number: 1 }), branch, Date.now());
    const forged = since(await other.answer([recipeRecord], { number: 2 }), 1n);
    await expect(taken(held, forged, branch, Date.now())).rejects.toMatchObject({
      reason: "SIGNATURE_WRONG",
    });
  });
  it("is checked again when it is read, so that a tampered cache is refused", async () => {
    await forgetHeld(branch);
    const office = await newOffice();
    await keepHeld(await taken(null, await office.answer([recipeRecord], { number: 1 }), branch, Date.now()));
    expect((await readHeld(branch))?.trusted.release).toBe(1);
    const kept = await (await tablet()).get("sheets", branch);
    const content = kept?.sheet.records[0]?.content;
    if (!kept || !content) throw new Error("nothing kept");
    content[content.length - 1] = (content.at(-1) ?? 0) ^ 1;
    await (await tablet()).put("sheets", kept);
    await expect(readHeld(branch)).rejects.toMatchObject({ reason: "BYTES_CHANGED" });
  });
});
