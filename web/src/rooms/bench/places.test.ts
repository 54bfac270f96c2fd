import { create } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import { OrderSchema, PlanSchema } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { placements } from "./hall.ts";
import { designsOf, guessedKind, kindOf, noKind, placeFor, settled, sizeInHand } from "./places.ts";
import { nothingYet } from "./wanted.ts";

describe("the cut of garment", () => {
  it("follows from what is sold and to whom", () => {
    expect(guessedKind("t-shirt", -1)).toBe("t-shirt");
    expect(guessedKind("t-shirt", 36)).toBe("childs-t-shirt");
    expect(guessedKind("t-shirt", 168)).toBe("t-shirt");
    expect(guessedKind("bag", -1)).toBe("tote");
    expect(guessedKind("socks", -1)).toBe("");
  });
  it("is what the person chose, where one is chosen", () => {
    expect(settled(nothingYet, placements).garmentKind).toBe("t-shirt");
    expect(settled({ ...nothingYet, soldAs: "hoodie" }, placements).garmentKind).toBe(noKind);
    expect(settled({ ...nothingYet, garmentKind: "tote" }, placements)).toMatchObject({
      garmentKind: "tote",
      placement: "bag-front",
    });
    expect(kindOf(create(OrderSchema, { soldAs: "t-shirt", lines: [{ garmentKind: noKind }] }))).toBe(noKind);
  });
});

describe("the place", () => {
  it("is found by its older name, and by its like on another garment", () => {
    expect(placeFor(placements, "t-shirt", "left chest")?.name).toBe("left-chest");
    expect(placeFor(placements, "childs-t-shirt", "left-chest")?.name).toBe("childs-left-chest");
    expect(placeFor(placements, "tote", "left-chest")?.name).toBe("bag-front");
    expect(placeFor(undefined, "t-shirt", "left-chest")).toBeUndefined();
    expect(settled({ ...nothingYet, placement: "full front" }, undefined).placement).toBe("full-front");
  });
});

describe("the design in hand", () => {
  it("is the box around all films of a size", () => {
    const plan = create(PlanSchema, {
      layouts: [
        {
          designs: [
            { size: "M", registerXUm: 10_000n, registerYUm: 0n, widthUm: 50_000n, heightUm: 20_000n },
          ],
        },
        {
          designs: [{ size: "M", registerXUm: 0n, registerYUm: 5_000n, widthUm: 20_000n, heightUm: 40_000n }],
        },
      ],
    });
    expect(designsOf(plan)).toMatchObject([{ size: "M", widthUm: 60_000n, heightUm: 45_000n }]);
  });
  it("is on the size that comes next", () => {
    const order = create(OrderSchema, {
      lines: [
        {
          sizes: [
            { size: "S", count: 2n },
            { size: "M", count: 1n },
          ],
        },
      ],
    });
    expect([1, 2, 3, 4].map((piece) => sizeInHand(order, piece))).toEqual(["S", "S", "M", ""]);
  });
});
