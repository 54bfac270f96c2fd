import { useEffect, useRef } from "react";
import { useLocation, useParams, useSearchParams } from "wouter";
import { paths, withQuery } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useKept } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Screen } from "../../kit/Screen.tsx";
import { StepBar } from "../../kit/StepBar.tsx";
import { Timer } from "../../kit/Timer.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { useWakeLock } from "../../kit/wakeLock.ts";
import {
  type Layout,
  type Order,
  OrdersService,
  type Plan,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { milliseconds } from "../../units/quantities.ts";
import { orderName } from "./addresses.ts";
import styles from "./bench.module.css";
import { revisionNumber } from "./cards.ts";
import { NoBranch } from "./NoBranch.tsx";
import { sizeInHand } from "./places.ts";
import { StepPicture } from "./StepPicture.tsx";
import { useSaved } from "./saved.ts";
import { after, before, type Spot, type StepKey, stepsFor, stepWords, timeOf } from "./stepList.ts";
import { useLanded } from "./useLanded.ts";
import { started, withTimer, workOn } from "./work.ts";

const question = "What do I do now?";

/** Steps leads through cutting and pressing, one step and one picture at a time. */
export default function Steps() {
  const { branch } = usePerson();
  const { order = "" } = useParams<{ order: string }>();
  return branch === "" ? <NoBranch question={question} /> : <Led branch={branch} id={order} />;
}

function Led({ branch, id }: { branch: string; id: string }) {
  const [search] = useSearchParams();
  const name = orderName(branch, id);
  const kept = useSaved(OrdersService.method.getOrder, { name }, `order:${name}`);
  const at = Number(search.get("layout") ?? 0);
  const { order, plan } = kept.data ?? {};
  const layout = plan?.layouts[at];
  if (order && plan && layout)
    return (
      <Step
        id={id}
        order={order}
        plan={plan}
        layout={layout}
        at={at}
        state={{ network: kept.network, ...(kept.asOf === undefined ? {} : { asOf: kept.asOf }) }}
      />
    );
  return (
    <Screen question={question} state={{ network: kept.network }}>
      {!kept.data && !kept.fault && <Loading what="the steps" rows={6} />}
      {!kept.data && kept.fault && (
        <Failure
          fault={kept.fault}
          title="The plan could not be loaded"
          onRetry={kept.retry}
          retrying={kept.retrying}
        />
      )}
      {kept.data && (
        <Empty
          title="This plan has no such film."
          action={<ButtonLink to={paths.plan(id)}>Back to the plan</ButtonLink>}
        />
      )}
    </Screen>
  );
}

const sentences: Record<StepKey, string> = {
  load: "Load the film",
  "test-cut": "Make a test cut",
  cut: "Cut",
  weed: "Weed",
  "pre-press": "Pre-press the garment",
  place: "Place the design",
  press: "Press",
  peel: "Wait, then peel",
  "second-press": "Press again",
  check: "Is it good?",
};

const atEnd: Partial<Record<StepKey, string>> = {
  "pre-press": "open now",
  press: "open now",
  peel: "peel now",
  "second-press": "open now",
};

type StepProps = {
  id: string;
  order: Order;
  plan: Plan;
  layout: Layout;
  at: number;
  state: { network: "here" | "away" | "saved"; asOf?: number };
};

function Step({ id, order, plan, layout, at, state }: StepProps) {
  const [search, setSearch] = useSearchParams();
  const [, go] = useLocation();
  const kept = workOn(order.name, at);
  const work = useKept(kept);
  useWakeLock(true);
  const landed = useLanded(order, plan);

  const card = layout.card;
  const steps = stepsFor(card);
  const pieces = Math.max(1, Number(plan.garmentsCount));
  const step = steps.find((key) => key === search.get("step")) ?? steps[0] ?? "load";
  const piece = Math.min(pieces, Math.max(1, Math.trunc(Number(search.get("piece")) || 1)));
  const spot: Spot = { step, piece };
  const size = sizeInHand(order, piece);
  const time = timeOf(step, card);
  const timerKey = `${step}-${piece}`;
  const timer = work.timers.find(({ key }) => key === timerKey);
  const phase = time === 0 ? "untimed" : !timer ? "to start" : timer.late === null ? "running" : "done";

  const show = (next: Spot) =>
    setSearch({
      ...(at > 0 ? { layout: String(at) } : {}),
      step: next.step,
      ...(next.piece > 1 ? { piece: String(next.piece) } : {}),
    });
  const start = () => {
    const now = Date.now();
    kept.set(withTimer(started(kept.value(), now), { key: timerKey, ends: now + time * 1_000, late: null }));
  };
  const stop = (late: number) => {
    if (!timer) return;
    const was = kept.value();
    const dwells = step === "press" ? [...was.dwells, time + late / 1_000] : was.dwells;
    kept.set({ ...withTimer(was, { ...timer, late }), dwells });
  };
  const goOn = () => {
    const now = started(kept.value(), Date.now());
    kept.set(step === "check" ? { ...now, pressed: Math.max(now.pressed, piece) } : now);
    const next = after(spot, steps, pieces);
    if (next) show(next);
    else go(withQuery(paths.outcome(id), { layout: at || undefined }));
  };
  // A pedal never skips: the first press starts a timer or stops its bell, the second goes on.
  const advance = () => {
    if (phase === "to start") start();
    else if (phase !== "running") goOn();
    else if (timer && Date.now() >= timer.ends) stop(Date.now() - timer.ends);
  };
  const back = () => show(before(spot, steps));
  usePedal(advance, back);
  const ended = useNow(500) >= (timer?.ends ?? Number.POSITIVE_INFINITY);

  const mainWords = {
    untimed:
      step === "check"
        ? piece < pieces
          ? `Good, next garment (${piece + 1} of ${pieces})`
          : "Done: report"
        : "Next",
    "to start": "Start the timer",
    running: ended ? "Bell off" : "Next",
    done: "Next",
  }[phase];
  return (
    <Screen
      question={sentences[step]}
      state={{
        ...state,
        revision: card
          ? `${card.title}, revision ${revisionNumber(card.revision)}, garment ${piece} of ${pieces}`
          : `garment ${piece} of ${pieces}`,
      }}
    >
      <StepBar label="Steps" at={steps.indexOf(step)} steps={steps.map((key) => stepWords[key])} />
      {timer && timer.late === null && (
        <Timer
          name={stepWords[step]}
          ends={timer.ends}
          length={milliseconds(time * 1_000)}
          atEnd={atEnd[step] ?? "now"}
          onDismiss={stop}
        />
      )}
      {phase === "done" && timer?.late !== null && timer && (
        <p role="status">
          {stepWords[step]}: done{timer.late >= 1_000 ? `, ${Math.floor(timer.late / 1_000)} s late` : ""}.
        </p>
      )}
      <StepPicture step={step} layout={layout} order={order} landed={{ ...landed, size }} />
      {(step === "check" || phase === "running") && (
        <Actions>
          {step === "check" && (
            <ButtonLink to={withQuery(paths.outcome(id), { layout: at || undefined })}>
              Something is wrong: report
            </ButtonLink>
          )}
          {phase === "running" && !ended && (
            <Button kind="danger" onClick={goOn}>
              Go on before the time is over
            </Button>
          )}
        </Actions>
      )}
      <div className={styles.foot} data-screen-only>
        <Button wide onClick={back}>
          Back
        </Button>
        <Button
          kind="main"
          wide
          onClick={advance}
          because={phase === "running" && !ended ? "The timer runs." : undefined}
        >
          {mainWords}
        </Button>
      </div>
    </Screen>
  );
}

/** usePedal lets a page-turner pedal or a keypad run the steps: PageDown or Space goes on, PageUp goes back. */
function usePedal(advance: () => void, back: () => void): void {
  const newest = useRef({ advance, back });
  newest.current = { advance, back };
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      const target = event.target as Element;
      if (event.repeat || target.closest("input, textarea, select, dialog")) return;
      // Space on a button or a heading that opens presses it, as everywhere.
      if (event.key === " " && target.closest("button, a, summary")) return;
      if (event.key === "PageDown" || event.key === " ") newest.current.advance();
      else if (event.key === "PageUp") newest.current.back();
      else return;
      event.preventDefault();
    };
    window.addEventListener("keydown", onKey);
    return () => window.removeEventListener("keydown", onKey);
  }, []);
}
