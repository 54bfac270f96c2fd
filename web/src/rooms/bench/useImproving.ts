import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useEffect, useRef, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import type { Fault } from "../../kit/fault.ts";
import {
  type Layout,
  type Order,
  OrdersService,
  SearchEffort,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { keepOf, type Step } from "./holding.ts";

export type Improving = {
  /** Index of the layout that is searched for; null while none is. */
  index: number | null;
  /** Share of the search done, 0 to 1. */
  done: number;
  fault: Fault | null;
  start: (index: number, order: Order, step: Step, effort: SearchEffort) => void;
  stop: () => void;
};

/** The reason of a server that searches for others just now. */
export const searchesTaken = "SEARCHES_TAKEN";

const patientTries = 4;
const patientMs = 1_500;

/** useImproving listens to a search; every shorter layout is handed on as it is found. Leaving the screen ends it. */
export function useImproving(branch: string, onShorter: (index: number, layout: Layout) => void): Improving {
  const transport = useTransport();
  const [index, setIndex] = useState<number | null>(null);
  const [done, setDone] = useState(0);
  const [fault, setFault] = useState<Fault | null>(null);
  const running = useRef<AbortController | null>(null);
  const tell = useRef(onShorter);
  useEffect(() => {
    tell.current = onShorter;
  });
  useEffect(() => () => running.current?.abort(), []);

  function stop() {
    running.current?.abort();
    running.current = null;
    setIndex(null);
  }
  async function listen(at: number, order: Order, step: Step, effort: SearchEffort) {
    const mine = new AbortController();
    running.current = mine;
    setIndex(at);
    setDone(0);
    setFault(null);
    let fault = await hear(mine, at, order, step, effort);
    // A search that was just stopped may still hold its place; a busy server is asked again a few times.
    for (let tries = 1; fault?.reason === searchesTaken && tries < patientTries; tries++) {
      await new Promise((done) => setTimeout(done, patientMs));
      if (running.current !== mine) return;
      fault = await hear(mine, at, order, step, effort);
    }
    if (running.current !== mine) return;
    setFault(fault);
    running.current = null;
    setIndex(null);
  }
  /** hear listens once, to the end or to the fault. */
  async function hear(mine: AbortController, at: number, order: Order, step: Step, effort: SearchEffort) {
    try {
      const client = createClient(OrdersService, transport);
      const news = client.improvePlan(
        { branch, order, layout: at, keep: keepOf(step), effort },
        { signal: mine.signal },
      );
      for await (const { layout, donePermille } of news) {
        if (running.current !== mine) return null;
        setDone(donePermille / 1000);
        if (layout) tell.current(at, layout);
      }
      return null;
    } catch (error) {
      return faultOf(error);
    }
  }
  return {
    index,
    done,
    fault,
    stop,
    start(at, order, step, effort = SearchEffort.SHORT) {
      stop();
      void listen(at, order, step, effort);
    },
  };
}
