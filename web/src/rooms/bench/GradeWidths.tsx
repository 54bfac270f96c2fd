import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import type { Fault } from "../../kit/fault.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Status } from "../../kit/Waiting.tsx";
import {
  type Drawing,
  type GarmentKind,
  OrdersService,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { millimetres } from "../../units/quantities.ts";
import type { SizeChoice } from "./wanted.ts";

type GradeWidthsProps = {
  branch: string;
  garment: GarmentKind | undefined;
  place: string;
  sizes: SizeChoice[];
  drawing: Drawing | undefined;
  onFill: (sizes: SizeChoice[]) => void;
};

/** GradeWidths fills the widths of all sizes in from the first one's, so that the design grows with the garment. */
export function GradeWidths({ branch, garment, place, sizes, drawing, onFill }: GradeWidthsProps) {
  const units = useUnits();
  const transport = useTransport();
  const [pending, setPending] = useState(false);
  const [status, setStatus] = useState("");
  const [fault, setFault] = useState<Fault | null>(null);
  const known = new Set(garment?.sizes.map(({ name }) => name));
  const asked = [...new Set(sizes.map(({ size }) => size.trim()))].filter((size) => known.has(size));
  const base = sizes.find(({ size }) => known.has(size.trim()));
  const widthUm = base?.widthMm ? BigInt(base.widthMm) * 1000n : (drawing?.widthUm ?? 0n);
  const because = !garment
    ? "Choose the cut of the garment first."
    : !base
      ? `No size here is one of a ${garment.title}: ${[...known].join(", ")}.`
      : asked.length < 2
        ? "Add a second size of this garment."
        : widthUm === 0n
          ? "Say the design’s width on the first size, or choose the drawing."
          : undefined;

  async function fill() {
    if (!garment || !base) return;
    setPending(true);
    setFault(null);
    try {
      const { widths } = await createClient(OrdersService, transport).gradeDesign({
        branch,
        garmentKind: garment.kind,
        place,
        baseSize: base.size.trim(),
        widthUm,
        sizes: asked,
      });
      const graded = new Map(widths.map((width) => [width.size, width]));
      onFill(
        sizes.map((row) => {
          const width = graded.get(row.size.trim());
          return width ? { ...row, widthMm: Math.round(Number(width.widthUm) / 1000) } : row;
        }),
      );
      const held = widths.filter((width) => width.held).map(({ size }) => size);
      const left = sizes
        .filter(({ size }) => !known.has(size.trim()))
        .map(({ size }) => size || "one without a name");
      setStatus(
        [
          `Filled in from ${units.show("length", millimetres(Math.round(Number(widthUm) / 1000)))} on ${base.size.trim()}.`,
          ...(held.length > 0 ? [`Held at what is usual there: ${held.join(", ")}.`] : []),
          ...(left.length > 0 ? [`Left as they are: ${left.join(", ")}.`] : []),
        ].join(" "),
      );
    } catch (error) {
      setStatus("");
      setFault(faultOf(error));
    } finally {
      setPending(false);
    }
  }
  return (
    <>
      <div>
        <Button
          pending={pending}
          pendingWords="Filling in…"
          {...(because ? { because } : {})}
          onClick={() => void fill()}
        >
          Fill the widths by size
        </Button>
      </div>
      <Status>{status}</Status>
      {fault && <Failure fault={fault} title="The widths were not filled in" />}
    </>
  );
}
