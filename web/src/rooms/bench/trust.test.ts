// The vectors are those of recipes/testdata/trust, which the Go client is held to as well.
import "fake-indexeddb/auto";
import { fromJson, type JsonValue } from "@bufbuild/protobuf";
import { base64Decode } from "@bufbuild/protobuf/wire";
import { describe, expect, it } from "vitest";
import { PullSheetResponseSchema } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { hexOf, signedBy } from "./signing.ts";
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
    const bytes = (hex: string) => Uint8Array.from(hex.match(/../g) ?? [], (pair) => Number.parseInt(pair, 16));
    const key = bytes("3d4017c3e843895a92b70aa74d1b7ebc9c982ccf2ec4968cc0cd55f12af4660c");
    const signature = bytes(
      "92a009a9f0d4cab8720e820b5f642540a2b27b5416503f8fb3762223ebdb69da" +
        "085ac1e43e15996e458f3613d0f11d8c387b2eaeb4302aeeb00d291612bb0c00",
    );
    const signed = (message: number) => signedBy(key, new Uint8Array([message]), signature);
    expect([await signed(0x72), await signed(0x73)]).toEqual([true, false]);
  });
});
