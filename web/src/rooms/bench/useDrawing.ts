import { useMutation } from "@connectrpc/connect-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import type { Fault } from "../../kit/fault.ts";
import { type Drawing, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

type InHand = { name: string; svg: Uint8Array<ArrayBuffer> };

export type ReadFile = {
  /** Name of the file in hand, or undefined. */
  fileName: string | undefined;
  drawing: Drawing | undefined;
  fault: Fault | null;
  /** The file says no size: a width must be asked for. */
  asksWidth: boolean;
  reading: boolean;
  open: (file: File, recipe: string) => Promise<Drawing | undefined>;
  /** Reads the same file again, at a width or for another film. */
  again: (to: { widthMm?: number; recipe: string }) => Promise<Drawing | undefined>;
};

/** useDrawing hands a file to the server, which reads its outlines and never keeps the file. */
export function useDrawing(branch: string): ReadFile {
  const [file, setFile] = useState<InHand>();
  const [widthMm, setWidthMm] = useState(0);
  const read = useMutation(OrdersService.method.readDrawing);
  const fault = read.error ? faultOf(read.error) : null;

  async function send({ name, svg }: InHand, width: number, recipe: string) {
    try {
      const answer = await read.mutateAsync({
        branch,
        svg,
        widthUm: BigInt(width) * 1000n,
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
    asksWidth: fault?.reason === "NO_SIZE",
    reading: read.isPending,
    async open(chosen, recipe) {
      const next = { name: chosen.name, svg: new Uint8Array(await chosen.arrayBuffer()) };
      setFile(next);
      setWidthMm(0);
      return send(next, 0, recipe);
    },
    async again({ widthMm: width = widthMm, recipe }) {
      if (!file) return undefined;
      setWidthMm(width);
      return send(file, width, recipe);
    },
  };
}
