import { create } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import { LayoutSchema } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import {
  heldOf,
  hold,
  keepOf,
  locked,
  moved,
  nothingHeld,
  stepBack,
  stepForward,
  turned,
  wrongPlaces,
} from "./holding.ts";

const layout = create(LayoutSchema, {
  places: [
    { xUm: 10_000n, yUm: 0n, originXUm: 10_000n, originYUm: 0n },
    { xUm: 60_000n, yUm: 5_000n, originXUm: 80_000n, originYUm: 5_000n, angleMdeg: 90_000, turned: true },
  ],
  cuts: [{ roll: "branches/hall/rolls/r1" }],
});

describe("layouts in hand", () => {
  it("goes back and forth through everything that was held", () => {
    const first = heldOf(layout);
    const second = moved(first, 1, 1_000n, -2_000n);
    let history = hold(hold(nothingHeld, 0, first), 0, second);
    expect(history.now.get(0)?.places[1]).toMatchObject({ xUm: 61_000n, yUm: 3_000n, originXUm: 81_000n });
    history = stepBack(history);
    expect(history.now.get(0)).toBe(first);
    history = stepForward(history);
    expect(history.now.get(0)).toBe(second);
    expect(stepForward(history)).toEqual(history);
    history = stepBack(stepBack(history));
    expect(history.now.size).toBe(0);
    expect(stepBack(history)).toEqual(history);
  });
  it("forgets what was stepped back from once something else is held", () => {
    const first = heldOf(layout);
    const history = hold(stepBack(hold(nothingHeld, 0, first)), 0, locked(first, 0));
    expect(history.future).toEqual([]);
    expect(history.now.get(0)?.places[0]?.locked).toBe(true);
  });
  it("turns by quarters and comes round", () => {
    let held = heldOf(layout);
    for (const angle of [90_000, 180_000, 270_000, 0]) {
      held = turned(held, 0);
      expect(held.places[0]?.angleMdeg).toBe(angle);
    }
  });
  it("lets the server choose the film for one cut, and names every film of several", () => {
    expect(keepOf(new Map([[0, heldOf(layout)]]))[0]?.cuts).toEqual([]);
    const two = create(LayoutSchema, { cuts: [{ roll: "a" }, { roll: "b" }] });
    expect(keepOf(new Map([[2, heldOf(two)]]))[0]).toMatchObject({
      layout: 2,
      cuts: [{ roll: "a" }, { roll: "b" }],
    });
  });
  it("finds the designs that a refusal names", () => {
    const step = new Map([
      [1, heldOf(layout)],
      [3, heldOf(layout)],
    ]);
    expect(wrongPlaces(["keep[1].places[4]", "keep[0].places[2].x_um", "order.title"], step, 3)).toEqual(
      new Set([4]),
    );
    expect(wrongPlaces(["keep[0].places[2].x_um"], step, 1)).toEqual(new Set([2]));
  });
});
