import { create } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import { type Layout, LayoutSchema, PlaceSchema } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { order, plan } from "./hall.ts";
import { faultsIn, leastDrawnMm, type Outcome, outcomeOf, outcomeOfRun, runOf } from "./outcome.ts";
import { placeTransform, rollGeometry, rollTransform } from "./rollGeometry.ts";
import { after, before, stepsFor } from "./stepList.ts";
import { missing, nothingYet, orderOf, wantedOf } from "./wanted.ts";
import { meanDwell, withTimer } from "./work.ts";

const layout = plan.layouts[0] as Layout;
const told = (outcome: Outcome) =>
  runOf({
    id: "0",
    branch: "branches/hall",
    order,
    layout,
    outcome,
    startMs: 2_000,
    endMs: 1_000,
    dwellSeconds: 13,
  });

/** The ledger's own rule (branches/runs, Run.Check): the parts add up to no more than was drawn. */
const partsOf = (run: ReturnType<typeof told>) =>
  run.decoratedAreaMm2 +
  run.layoutLossMm2 +
  run.edgeLossMm2 +
  run.testCutLossMm2 +
  run.weedingLossMm2 +
  run.rollEndLossMm2 +
  run.reprints.reduce((sum, { filmAreaMm2 }) => sum + filmAreaMm2, 0n);

describe("the run made of an outcome", () => {
  it("is the plan itself where nothing went wrong", () => {
    const run = told(outcomeOf(layout, order));
    expect([run.piecesCount, run.goodCount, run.drawnMm, run.drawnAreaMm2]).toEqual([2n, 2n, 200n, 100_000n]);
    expect(partsOf(run)).toBe(run.drawnAreaMm2);
    expect(run.achievableAreaMm2).toBe(100_000n);
    expect(run.recipe).toBe("recipes/glimmer-cotton/revisions/3");
    expect(run.recipeSha256.length).toBe(32);
    expect(run.startTime?.seconds).toBe(1n); // never after the end
  });

  it("never adds up to more than was drawn", () => {
    for (const pieces of [1, 2, 3])
      for (const good of [0, 1])
        for (const count of [0, 1, 3])
          for (const loss of [0, 7, 35]) {
            const outcome: Outcome = {
              ...outcomeOf(layout, order),
              pieces,
              good,
              reprints: { wrinkle: count, scorch: 1 },
              testCutMm: loss,
              weedingMm: loss,
              rollEndMm: loss,
            };
            expect(faultsIn(outcome, layout)).toEqual([]);
            const run = told(outcome);
            expect(partsOf(run)).toBeLessThanOrEqual(run.drawnAreaMm2);
            expect(run.drawnMm).toBe(BigInt(leastDrawnMm(outcome, layout)));
          }
  });

  it("says every fault at once", () => {
    const outcome: Outcome = { ...outcomeOf(layout, order), good: 3, drawnMm: 100 };
    expect(faultsIn(outcome, layout).map(({ path }) => path)).toEqual(["good_count", "drawn_mm"]);
    const empty = { ...outcome, pieces: null, good: null, drawnMm: null, reprints: { other: null } };
    expect(faultsIn(empty, layout).map(({ path }) => path)).toEqual([
      "pieces_count",
      "good_count",
      "reprints",
    ]);
  });

  it("comes back whole for correcting", () => {
    const outcome: Outcome = {
      pieces: 2,
      good: 1,
      reprints: { misplaced: 1 },
      drawnMm: 340,
      testCutMm: 20,
      weedingMm: 0,
      rollEndMm: 10,
      lot: "L7",
    };
    expect(outcomeOfRun(told(outcome), layout)).toEqual(outcome);
  });
});

describe("the roll on the screen", () => {
  const apply = (matrix: string, x: number, y: number): [number, number] => {
    const [a = 0, b = 0, c = 0, d = 0, e = 0, f = 0] = (matrix.match(/-?[\d.]+/g) ?? []).map(Number);
    return [a * x + c * y + e, b * x + d * y + f];
  };
  it("is in one scale and fits", () => {
    expect(rollGeometry(layout, 1_000, 250).scale).toBe(0.5);
    const long = create(LayoutSchema, { ...layout, lengthUm: 5_000_000n });
    expect(rollGeometry(long, 1_000, 420).scale).toBe(0.2);
  });
  it("turns and never mirrors, since what lies mirrored must look so", () => {
    const matrix = rollTransform(rollGeometry(layout, 1_000, 250));
    const [origin, right, down] = [apply(matrix, 0, 0), apply(matrix, 1, 0), apply(matrix, 0, 1)];
    const turned =
      (right[0] - origin[0]) * (down[1] - origin[1]) - (right[1] - origin[1]) * (down[0] - origin[0]);
    expect(turned).toBeGreaterThan(0);
    expect(origin[0]).toBe(0); // the start of the roll is at the left
  });
  it("keeps a turned outline inside its place", () => {
    const place = create(PlaceSchema, { xUm: 10_000n, yUm: 20_000n, widthUm: 60_000n, turned: true });
    expect(placeTransform(place)).toBe("translate(70 20) rotate(90)");
  });
});

describe("the steps", () => {
  const steps = stepsFor(layout.card);
  it("leave out what the card does not ask for", () => {
    expect(steps).toEqual([
      "load",
      "test-cut",
      "cut",
      "weed",
      "pre-press",
      "place",
      "press",
      "peel",
      "check",
    ]);
    expect(stepsFor(undefined)).not.toContain("pre-press");
  });
  it("press every garment for itself and then end", () => {
    expect(after({ step: "load", piece: 1 }, steps, 2)).toEqual({ step: "test-cut", piece: 1 });
    expect(after({ step: "check", piece: 1 }, steps, 2)).toEqual({ step: "pre-press", piece: 2 });
    expect(after({ step: "check", piece: 2 }, steps, 2)).toBeNull();
    expect(before({ step: "pre-press", piece: 2 }, steps)).toEqual({ step: "check", piece: 1 });
    expect(before({ step: "load", piece: 1 }, steps)).toEqual({ step: "load", piece: 1 });
  });
  it("remember real dwells and one timer a step", () => {
    const work = { startedAt: 1, pressed: 0, timers: [], dwells: [12.4, 13.2] };
    expect(meanDwell(work)).toBe(13);
    const first = withTimer(work, { key: "press-1", ends: 5, late: null });
    expect(withTimer(first, { key: "press-1", ends: 9, late: null }).timers).toEqual([
      { key: "press-1", ends: 9, late: null },
    ]);
  });
});

describe("an order being put together", () => {
  it("says all that is missing", () => {
    expect(missing(nothingYet).map(({ path }) => path)).toEqual([
      "drawing",
      "films[0].recipe",
      "cutter",
      "press",
    ]);
  });
  it("comes back from a kept order", () => {
    const again = orderOf({ ...wantedOf(order) });
    expect(again.lines).toEqual(order.lines);
    expect([again.ageMonths, again.soldAs, again.cutter]).toEqual([-1n, "t-shirt", order.cutter]);
  });
});
