// useBench holds the layouts of a plan while it is being planned: what the server laid out, what a search found, and what a
// person moved, with every step back and forth.
import { useEffect, useRef, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import type { Fault } from "../../kit/fault.ts";
import {
  type Layout,
  type Order,
  type Plan,
  SearchEffort,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import {
  type Held,
  type History,
  heldOf,
  hold,
  nothingHeld,
  type Step,
  stepBack,
  stepForward,
  wrongPlaces,
} from "./holding.ts";
import { type Improving, useImproving } from "./useImproving.ts";
import { orderKey, usePlanned } from "./usePlanned.ts";

export type Bench = {
  plan: Plan | undefined;
  fault: Fault | null;
  /** What is shown is not yet what was asked for last. */
  behind: boolean;
  retry: () => void;
  /** What is held, to be handed in when the order is kept. */
  step: Step;
  improving: Improving;
  search: (index: number, effort: SearchEffort) => void;
  /** Ends a search and gives what is held then. */
  stop: () => Step;
  hold: (index: number, held: Held) => void;
  undo: () => void;
  redo: () => void;
  canUndo: boolean;
  canRedo: boolean;
  /** Designs of a layout that can not be cut where they lie. */
  wrong: (index: number) => ReadonlySet<number>;
};

const restMs = 1_200; // a search begins by itself once an order is left alone

export function useBench(branch: string, order: Order | null): Bench {
  const key = orderKey(order);
  const [kept, setKept] = useState<{ key: string; history: History }>({ key, history: nothingHeld });
  // Another order, another layout: what was held for the one before means nothing here.
  const history = kept.key === key ? kept.history : nothingHeld;
  const change = (next: History) => setKept({ key, history: next });
  const planned = usePlanned(branch, order, history.now);
  const fault = planned.error ? faultOf(planned.error) : null;
  // The newest layout of a search, shown until the server has worked out the plan with it.
  const [found, setFound] = useState<{ key: string; index: number; layout: Layout } | null>(null);
  const improving = useImproving(branch, (index, layout) => setFound({ key, index, layout }));
  const searched = useRef("");
  /** byHand ends searching by itself: whoever has taken the layout in hand decides when a search moves it. */
  const byHand = () => {
    searched.current = `${key}#${Number.MAX_SAFE_INTEGER}`;
  };

  /** take puts what a search found in hand; then it can be undone like anything else. */
  const take = (): Step => {
    const next = found?.key === key ? hold(history, found.index, heldOf(found.layout)) : history;
    if (next !== history) change(next);
    setFound(null);
    return next.now;
  };
  const search = (index: number, effort: SearchEffort) => {
    if (order) improving.start(index, order, history.now, effort);
  };
  const stop = () => {
    byHand();
    improving.stop();
    return take();
  };
  // The end of a search is like stopping it.
  const running = improving.index !== null;
  useEffect(() => {
    if (!running && found) take();
  });
  // A plan that is left alone is searched by itself, once, film after film; another order ends the search.
  const ready = planned.plan !== undefined && !planned.behind && !fault;
  useEffect(() => {
    if (running && found?.key !== undefined && found.key !== key) improving.stop();
  });
  useEffect(() => {
    if (!ready || running || !order?.choices?.trueOutlines) return;
    const count = planned.plan?.layouts.length ?? 0;
    const done = searched.current.startsWith(`${key}#`) ? Number(searched.current.slice(key.length + 1)) : 0;
    if (done >= count) return;
    const timer = setTimeout(() => {
      searched.current = `${key}#${done + 1}`;
      search(done, SearchEffort.SHORT);
    }, restMs);
    return () => clearTimeout(timer);
  });

  // A layout that is refused leaves the last plan standing, with what is wrong marked in it.
  const last = useRef<{ key: string; plan: Plan } | null>(null);
  useEffect(() => {
    if (planned.plan && !planned.behind) last.current = { key, plan: planned.plan };
  });
  const answered = planned.plan ?? (last.current?.key === key ? last.current.plan : undefined);
  const plan =
    answered && found?.key === key
      ? {
          ...answered,
          layouts: answered.layouts.map((layout, at) =>
            at === found.index ? shownWith(layout, found.layout) : layout,
          ),
        }
      : answered && withHeld(answered, planned.behind || fault ? history.now : new Map());
  return {
    plan,
    fault,
    behind: planned.behind,
    retry: planned.retry,
    step: history.now,
    improving,
    search: (index, effort) => {
      byHand();
      search(index, effort);
    },
    stop,
    hold: (index, held) => {
      byHand();
      improving.stop();
      setFound(null);
      change(hold(history, index, held));
    },
    undo: () => change(stepBack(history)),
    redo: () => change(stepForward(history)),
    canUndo: history.past.length > 0,
    canRedo: history.future.length > 0,
    wrong: (index) =>
      fault?.reason === "LAYOUT_INVALID"
        ? wrongPlaces(
            fault.fields.map(({ path }) => path),
            history.now,
            index,
          )
        : new Set(),
  };
}

/** shownWith is a layout of a search with the outlines of the plan that it was started from. */
const shownWith = (plan: Layout, found: Layout): Layout => ({
  ...found,
  outlines: plan.outlines,
  designs: plan.designs,
  ...(plan.card ? { card: plan.card } : {}),
});

/** withHeld shows what is held where it lies, before the server has answered for it. */
function withHeld(plan: Plan, step: Step): Plan {
  if (step.size === 0) return plan;
  return {
    ...plan,
    layouts: plan.layouts.map((layout, at) => {
      const held = step.get(at);
      return held && held.places.length === layout.places.length
        ? { ...layout, places: [...held.places] }
        : layout;
    }),
  };
}
