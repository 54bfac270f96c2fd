import { useMutation } from "@connectrpc/connect-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import type { Fault } from "../../kit/fault.ts";
import { type Drawing, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

type InHand = { name: string; svg: Uint8Array<ArrayBuffer> };

/** SaidSize is what a person said of a drawing's size, at most one of it; 0 is not said. */
export type SaidSize = {
  widthMm: number;
  heightMm: number;
  /** Length of the file's own unit in nanometres. */
  unitNm: number;
};

export const noSize: SaidSize = { widthMm: 0, heightMm: 0, unitNm: 0 };

export type ReadFile = {
  /** Name of the file in hand, or undefined. */
  fileName: string | undefined;
  drawing: Drawing | undefined;
  fault: Fault | null;
  /** The file says no size: it must be asked for. */
  asksSize: boolean;
  /** The file has a unit of its own that it does not tell: everything but SVG. */
  unitHelps: boolean;
  reading: boolean;
  open: (file: File, recipe: string) => Promise<Drawing | undefined>;
  /** Reads the same file again, at a size or for another film. */
  again: (to: { size?: SaidSize; recipe: string }) => Promise<Drawing | undefined>;
};

/** useDrawing hands a file to the server, which reads its outlines and never keeps the file. */
export function useDrawing(branch: string): ReadFile {
  const [file, setFile] = useState<InHand>();
  const [said, setSaid] = useState(noSize);
  const read = useMutation(OrdersService.method.readDrawing);
  const fault = read.error ? faultOf(read.error) : null;

  async function send({ name, svg }: InHand, size: SaidSize, recipe: string) {
    try {
      const answer = await read.mutateAsync({
        branch,
        svg,
        widthUm: BigInt(size.widthMm) * 1000n,
        heightUm: BigInt(size.heightMm) * 1000n,
        unitNm: BigInt(size.unitNm),
        recipe,
        title: name,
      });
      return answer.drawing;
    } catch {
      return undefined; // shown from read.error
    }
  }
  return {
    fileName: file?.name,
    drawing: read.data?.drawing,
    fault,
    asksSize: fault?.reason === "NO_SIZE",
    unitHelps: file !== undefined && !marksUp(file.svg),
    reading: read.isPending,
    async open(chosen, recipe) {
      const next = { name: chosen.name, svg: new Uint8Array(await chosen.arrayBuffer()) };
      setFile(next);
      setSaid(noSize);
      return send(next, noSize, recipe);
    },
    async again({ size = said, recipe }) {
      if (!file) return undefined;
      setSaid(size);
      return send(file, size, recipe);
    },
  };
}

/** marksUp tells SVG from the rest by its first sign, as the server does. */
function marksUp(bytes: Uint8Array): boolean {
  const start = new TextDecoder().decode(bytes.subarray(0, 1000));
  return start.trimStart().startsWith("<");
}
