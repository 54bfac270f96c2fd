import { create } from "@bufbuild/protobuf";
import { describe, expect, it } from "vitest";
import { LossSchema, StratumRateSchema } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { findingOf as filmFinding, stepsOf } from "./FilmLoss.tsx";
import { findingOf as strataFinding } from "./Strata.tsx";

const losses = (shares: Record<string, number>) =>
  Object.entries(shares).map(([key, share]) => create(LossSchema, { key, share }));

describe("film loss", () => {
  it("steps down so that the last loss ends where the good film begins", () => {
    const steps = stepsOf(
      losses({ drawn: 1, layout: 0.25, edge: 0.125, "not-accounted": 0.125, decorated: 0.5 }),
    );
    expect(steps.map(({ from, to }) => [from, to])).toEqual([
      [0, 1],
      [0.75, 1],
      [0.625, 0.75],
      [0.5, 0.625],
      [0, 0.5],
    ]);
  });
  it("draws more film on garments than was drawn as a step back", () => {
    const [, step] = stepsOf(losses({ drawn: 1, "not-accounted": -0.25, decorated: 1.25 }));
    expect([step?.from, step?.to]).toEqual([1.25, 1]);
  });
  it("says when nothing was lost", () => {
    expect(filmFinding(losses({ drawn: 1, layout: 0, decorated: 1 }), String)).toBe(
      "No film was lost on the way",
    );
  });
});

it("strata inside their limits are not said to stand out", () => {
  const inside = create(StratumRateSchema, {
    film: "A",
    fabric: "cotton",
    ratio: 1,
    ratioLow: 0.8,
    ratioHigh: 1.2,
  });
  const low = create(StratumRateSchema, {
    film: "B",
    fabric: "nylon",
    ratio: 0.2,
    ratioLow: 0.1,
    ratioHigh: 0.9,
  });
  expect(strataFinding([inside])).toBe("No film and fabric lies outside its limits");
  expect(strataFinding([inside, low])).toBe("Fewer reprints than expected with B, nylon");
});
