import { create, fromBinary } from "@bufbuild/protobuf";
import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useCallback, useEffect, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import {
  MoveRollRequestSchema,
  ReportRunsRequestSchema,
  RunSchema,
  RunsService,
  StockService,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { drain, type Entry, entriesOf, onOutbox } from "./outbox.ts";

export type Outbox = {
  /** null until read. */
  entries: Entry[] | null;
  /** Words when this browser refuses storage. */
  refused: string;
  sending: boolean;
  sendNow: () => Promise<void>;
};

/** useOutbox follows the outbox of a branch and sends what is due while a bench screen is open. */
export function useOutbox(branch: string): Outbox {
  const transport = useTransport();
  const queries = useQueryClient();
  const [entries, setEntries] = useState<Entry[] | null>(null);
  const [refused, setRefused] = useState("");
  const [sending, setSending] = useState(false);

  useEffect(() => {
    let gone = false;
    const look = () =>
      entriesOf(branch).then(
        (found) => !gone && setEntries(found),
        () =>
          !gone &&
          setRefused("This browser keeps nothing, so nothing can wait here. Allow storage for this page."),
      );
    void look();
    const stop = onOutbox(look);
    return () => {
      gone = true;
      stop();
    };
  }, [branch]);

  const run = useCallback(
    async (asked: boolean) => {
      const send = async (entry: Entry) => {
        try {
          if (entry.kind === "run") {
            const runs = [fromBinary(RunSchema, entry.bytes)];
            await createClient(RunsService, transport).reportRuns(create(ReportRunsRequestSchema, { runs }));
          } else {
            await createClient(StockService, transport).moveRoll(
              fromBinary(MoveRollRequestSchema, entry.bytes),
            );
          }
        } catch (error) {
          throw faultOf(error);
        }
      };
      setSending(true);
      try {
        await drain({ branch, send, now: Date.now, asked });
        if (asked) void queries.invalidateQueries();
      } catch {
        setRefused("The outbox of this tablet can not be read. Nothing was sent from it.");
      } finally {
        setSending(false);
      }
    },
    [branch, transport, queries],
  );

  // One more try at the earliest instant at which something is due, and whenever the network comes back.
  const due = entries
    ?.filter(({ keeping, refusal }) => keeping !== "confirmed" && refusal === null)
    .reduce((first, entry) => Math.min(first, entry.nextTry), Number.POSITIVE_INFINITY);
  useEffect(() => {
    if (due === undefined || due === Number.POSITIVE_INFINITY) return;
    const timer = setTimeout(() => void run(false), Math.max(0, due - Date.now()));
    const online = () => void run(true);
    window.addEventListener("online", online);
    return () => {
      clearTimeout(timer);
      window.removeEventListener("online", online);
    };
  }, [due, run]);

  return { entries, refused, sending, sendNow: useCallback(() => run(true), [run]) };
}

/** waitingCount counts what is not confirmed yet. */
export const waitingCount = (entries: readonly Entry[] | null): number =>
  entries?.filter(({ keeping }) => keeping !== "confirmed").length ?? 0;
