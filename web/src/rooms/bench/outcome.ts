// What a person says about the outcome, and the run that it makes.
import { create } from "@bufbuild/protobuf";
import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import type { DrawnFault } from "../../kit/drawings/FaultDrawing.tsx";
import type { FieldFault } from "../../kit/fault.ts";
import { type Run, RunSchema } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import type { Layout, Order } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

/** Causes as the ledger keeps them, in the order of the fault drawings. */
export const causes = {
  "edge-lift": "edgeLifts",
  wrinkle: "wrinkle",
  scorch: "scorch",
  "shallow-cut": "cutTooShallow",
  "deep-cut": "cutThroughCarrier",
  "weeding-tear": "weedingTear",
  misplaced: "misplaced",
  "wrong-colour": "colourWrong",
  "film-end": "filmEnd",
  other: "other",
} as const satisfies Record<string, DrawnFault>;
export type Cause = keyof typeof causes;
export const causeKeys = Object.keys(causes) as Cause[];

export type Outcome = {
  pieces: number | null;
  good: number | null;
  reprints: Partial<Record<Cause, number | null>>;
  /** Film drawn, all told; null takes what the rest adds up to. */
  drawnMm: number | null;
  testCutMm: number;
  weedingMm: number;
  rollEndMm: number;
  lot: string;
};

const mm = (um: bigint): number => Number(um) / 1000;
const wholePieces = (layout: Layout): number => Math.max(1, Number(layout.piecesCount));

/** outcomeOf begins with the plan: everything good, nothing made again. */
export const outcomeOf = (layout: Layout, order: Order): Outcome => ({
  pieces: wholePieces(layout),
  good: wholePieces(layout),
  reprints: {},
  drawnMm: null,
  testCutMm: 0,
  weedingMm: 0,
  rollEndMm: 0,
  lot: order.lot,
});

/** outcomeOfRun reads a refused run back for correcting. */
export function outcomeOfRun(run: Run, layout: Layout): Outcome {
  const width = Math.max(1, mm(layout.rollWidthUm));
  const lengthOf = (area: bigint) => Math.round(Number(area) / width);
  return {
    pieces: Number(run.piecesCount),
    good: Number(run.goodCount),
    reprints: Object.fromEntries(run.reprints.map(({ cause, count }) => [cause, Number(count)])),
    drawnMm: Number(run.drawnMm),
    testCutMm: lengthOf(run.testCutLossMm2),
    weedingMm: lengthOf(run.weedingLossMm2),
    rollEndMm: lengthOf(run.rollEndLossMm2),
    lot: run.lot,
  };
}

/** reprintCount sums the pieces made again. */
export const reprintCount = (outcome: Outcome): number =>
  Object.values(outcome.reprints).reduce<number>((sum, count) => sum + (count ?? 0), 0);

/** leastDrawnMm is the length that planned pieces, reprints and losses add up to; less can not have been drawn. */
export function leastDrawnMm(outcome: Outcome, layout: Layout): number {
  const perPiece = mm(layout.lengthUm) / wholePieces(layout);
  const pieces = (outcome.pieces ?? 0) + reprintCount(outcome);
  return Math.ceil(perPiece * pieces + outcome.testCutMm + outcome.weedingMm + outcome.rollEndMm);
}

/** faultsIn lists everything that keeps the outcome from being saved. */
export function faultsIn(outcome: Outcome, layout: Layout): FieldFault[] {
  const faults: FieldFault[] = [];
  const { pieces, good, drawnMm } = outcome;
  const ask = (wrong: boolean, path: string, words: string) => {
    if (wrong) faults.push({ path, words });
  };
  ask(pieces === null || pieces < 1, "pieces_count", "Say how many pieces were pressed, at least 1.");
  ask(good === null || good < 0, "good_count", "Say how many garments are good.");
  ask(
    pieces !== null && good !== null && good > pieces,
    "good_count",
    `${good} good garments are more than the ${pieces} pressed.`,
  );
  ask(
    Object.values(outcome.reprints).some((count) => count === null || (count ?? 0) < 0),
    "reprints",
    "A number of reprints can not be read.",
  );
  const least = leastDrawnMm(outcome, layout);
  ask(
    drawnMm !== null && drawnMm < least,
    "drawn_mm",
    `Pieces, reprints and losses add up to ${least} mm; ${drawnMm} mm is less. Correct the one that is wrong.`,
  );
  return faults;
}

type Told = {
  id: string;
  branch: string;
  order: Order;
  layout: Layout;
  outcome: Outcome;
  startMs: number;
  endMs: number;
  dwellSeconds: number;
};

/** runOf makes the run. Its areas add up to no more than was drawn; what is left over is film not accounted for. */
export function runOf({ id, branch, order, layout, outcome, startMs, endMs, dwellSeconds }: Told): Run {
  const width = mm(layout.rollWidthUm);
  const planned = wholePieces(layout);
  const pieces = outcome.pieces ?? 0;
  const drawnMm = outcome.drawnMm ?? leastDrawnMm(outcome, layout);
  const perPieceArea = (mm(layout.lengthUm) * width) / planned;
  const share = (area: bigint, of: number) => BigInt(Math.floor((Number(area) * of) / planned));
  const strip = (length: number) => BigInt(Math.floor(length * width));
  const card = layout.card;
  return create(RunSchema, {
    id,
    branch,
    order: order.name,
    recipe: card?.revision ?? "",
    recipeSha256: card?.sha256 ?? new Uint8Array(),
    film: layout.film,
    fabric: card?.fabric ?? "",
    colour: layout.colour,
    lot: outcome.lot.trim(),
    cutter: card?.cutter ?? order.cutter,
    press: card?.press ?? order.press,
    band: layout.band,
    piecesCount: BigInt(pieces),
    goodCount: BigInt(outcome.good ?? 0),
    reprints: causeKeys.flatMap((cause) => {
      const count = outcome.reprints[cause] ?? 0;
      return count > 0
        ? [{ cause, count: BigInt(count), filmAreaMm2: BigInt(Math.floor(perPieceArea * count)) }]
        : [];
    }),
    drawnMm: BigInt(drawnMm),
    drawnAreaMm2: strip(drawnMm),
    decoratedAreaMm2: share(layout.designAreaMm2, outcome.good ?? 0),
    layoutLossMm2: share(layout.layoutAreaMm2, pieces),
    edgeLossMm2: share(layout.edgeAreaMm2, pieces),
    testCutLossMm2: strip(outcome.testCutMm),
    weedingLossMm2: strip(outcome.weedingMm),
    rollEndLossMm2: strip(outcome.rollEndMm),
    achievableAreaMm2: BigInt(Math.floor(perPieceArea * pieces)),
    startTime: timestampFromMs(Math.min(startMs, endMs)),
    endTime: timestampFromMs(endMs),
    timedDwellSeconds: BigInt(dwellSeconds),
  });
}
