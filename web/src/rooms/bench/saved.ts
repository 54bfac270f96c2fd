// Answers that are kept on this tablet, so that the bench works with the network away, and says how old they are.
import {
  type DescMessage,
  type DescMethodUnary,
  fromBinary,
  type MessageInitShape,
  type MessageShape,
  toBinary,
} from "@bufbuild/protobuf";
import { useQuery } from "@connectrpc/connect-query";
import { useEffect, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import type { Fault } from "../../kit/fault.ts";
import { tablet } from "./tablet.ts";

export type Answer<T> = {
  data: T | undefined;
  /** When it was true; undefined while nothing is here. */
  asOf: number | undefined;
  network: "here" | "away" | "saved";
  /** Why nothing, or nothing newer, could be had. */
  fault: Fault | null;
  retry: () => void;
  retrying: boolean;
};

/**
 * useSaved asks the server and keeps the answer; where the server can not be reached, it gives the kept one.
 * `key` names the answer on this tablet: method and branch or order.
 */
export function useSaved<I extends DescMessage, O extends DescMessage>(
  method: DescMethodUnary<I, O>,
  input: MessageInitShape<I>,
  key: string,
  enabled = true,
): Answer<MessageShape<O>> {
  const query = useQuery(method, input, { enabled });
  const [kept, setKept] = useState<{ key: string; data: MessageShape<O>; asOf: number } | null>(null);
  const fault = query.error ? faultOf(query.error) : null;
  const away = fault?.kind === "UNREACHED" || fault?.kind === "UNAVAILABLE";
  const { data, dataUpdatedAt } = query;

  useEffect(() => {
    if (data) void keepAnswer(key, toBinary(method.output, data as MessageShape<O>), dataUpdatedAt);
  }, [data, dataUpdatedAt, key, method]);
  useEffect(() => {
    if (!away || data) return;
    let gone = false;
    void savedAnswer(key).then((found) => {
      if (found && !gone) setKept({ key, data: fromBinary(method.output, found.bytes), asOf: found.asOf });
    });
    return () => {
      gone = true;
    };
  }, [away, data, key, method]);

  const rest = { fault, retry: () => void query.refetch(), retrying: query.isFetching };
  if (data)
    return {
      data: data as MessageShape<O>,
      asOf: dataUpdatedAt,
      network: away ? "saved" : "here",
      ...rest,
    };
  // What is kept stays on the screen while it is asked for again.
  if ((away || query.isFetching) && kept?.key === key)
    return { data: kept.data, asOf: kept.asOf, network: "saved", ...rest };
  return { data: undefined, asOf: undefined, network: away ? "away" : "here", ...rest };
}

async function keepAnswer(key: string, bytes: Uint8Array, asOf: number): Promise<void> {
  try {
    await (await tablet()).put("answers", { key, bytes, asOf });
  } catch {
    // Storage is full or forbidden: the answer is on the screen; only working offline is lost.
  }
}

async function savedAnswer(key: string) {
  try {
    return await (await tablet()).get("answers", key);
  } catch {
    return undefined;
  }
}
