// A run that was reported and is wrong: read back as the layout and outcome that it came from, so that it is corrected in
// the same form that it was taken down in. What was reported stays on record; the correction takes its place in every sum.
import { create } from "@bufbuild/protobuf";
import type { Run } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { type Layout, LayoutSchema, OrderSchema } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { type Outcome, runOf } from "./outcome.ts";

/** layoutOfRun is the layout that a run tells of: its own film for each piece, its own width of roll. */
export function layoutOfRun(run: Run): Layout {
  const widthMm = Number(run.drawnAreaMm2) / Math.max(1, Number(run.drawnMm));
  const whole = (value: number) => BigInt(Math.round(value));
  const good = Math.max(1, Number(run.goodCount));
  return create(LayoutSchema, {
    film: run.film,
    filmTitle: run.film,
    colour: run.colour,
    rollWidthUm: whole(widthMm * 1000),
    lengthUm: whole((Number(run.achievableAreaMm2) / Math.max(1, widthMm)) * 1000),
    piecesCount: run.piecesCount,
    designAreaMm2: whole((Number(run.decoratedAreaMm2) / good) * Number(run.piecesCount)),
    layoutAreaMm2: run.layoutLossMm2,
    edgeAreaMm2: run.edgeLossMm2,
    band: run.band,
    card: {
      revision: run.recipe,
      sha256: run.recipeSha256,
      fabric: run.fabric,
      cutter: run.cutter,
      press: run.press,
    },
  });
}

/** correctionOf is the whole run as it should have been. Times and dwell were measured, so they stay. */
export function correctionOf(run: Run, outcome: Outcome, id: string): Run {
  const at = (time: { seconds: bigint } | undefined) => Number(time?.seconds ?? 0n) * 1000;
  const correction = runOf({
    id,
    branch: run.branch,
    order: create(OrderSchema, { name: run.order }),
    layout: layoutOfRun(run),
    outcome,
    startMs: at(run.startTime),
    endMs: at(run.endTime),
    dwellSeconds: Number(run.timedDwellSeconds),
  });
  correction.corrects = run.id;
  return correction;
}
