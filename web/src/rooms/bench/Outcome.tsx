import { create, fromBinary, toBinary } from "@bufbuild/protobuf";
import { useState } from "react";
import { useParams, useSearchParams } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { Choice } from "../../kit/Field.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Empty, KeepingMark, Loading } from "../../kit/Waiting.tsx";
import {
  MoveRollRequestSchema,
  type Run,
  RunSchema,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { type Layout, type Order, OrdersService } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { orderName } from "./addresses.ts";
import { LastRuns } from "./LastRuns.tsx";
import { NoBranch } from "./NoBranch.tsx";
import { OutcomeForm } from "./OutcomeForm.tsx";
import { type Entry, type NewEntry, saveEntries } from "./outbox.ts";
import { type Outcome, outcomeOf, outcomeOfRun, runOf } from "./outcome.ts";
import { useSaved } from "./saved.ts";
import { type Outbox, useOutbox } from "./useOutbox.ts";
import { meanDwell, workOn } from "./work.ts";

const question = "How did it go?";

/** OutcomeScreen takes down what was really done; it is saved here first, then sent. */
export default function OutcomeScreen() {
  const { branch } = usePerson();
  const { order = "" } = useParams<{ order: string }>();
  return branch === "" ? <NoBranch question={question} /> : <Asked branch={branch} id={order} />;
}

function Asked({ branch, id }: { branch: string; id: string }) {
  const [search, setSearch] = useSearchParams();
  const name = orderName(branch, id);
  const kept = useSaved(OrdersService.method.getOrder, { name }, `order:${name}`);
  const outbox = useOutbox(branch);
  const { order, plan } = kept.data ?? {};
  const layouts = plan?.layouts ?? [];
  const entryId = search.get("entry");
  const entry = outbox.entries?.find((candidate) => candidate.id === entryId && candidate.kind === "run");
  const run = entry ? fromBinary(RunSchema, entry.bytes) : undefined;
  const at = layoutAt(layouts, run, Number(search.get("layout") ?? 0));
  const layout = layouts[at];
  return (
    <Screen
      question={question}
      state={{ network: kept.network, ...(kept.asOf === undefined ? {} : { asOf: kept.asOf }) }}
      {...(order?.title ? { lead: order.title } : {})}
    >
      {!kept.data && !kept.fault && <Loading what="the plan" rows={6} />}
      {!kept.data && kept.fault && (
        <Failure
          fault={kept.fault}
          title="The plan could not be loaded"
          onRetry={kept.retry}
          retrying={kept.retrying}
        />
      )}
      {outbox.refused && <Notice kind="block" title={outbox.refused} />}
      {layouts.length > 1 && !entryId && (
        <Choice
          label="Which film?"
          row
          value={String(at)}
          options={layouts.map((option, index) => ({
            value: String(index),
            words: `${option.filmTitle}, ${option.colour}`,
          }))}
          onChange={(index) => setSearch({ layout: index }, { replace: true })}
        />
      )}
      {order && layout && entryId && (
        <Told entry={entry} outbox={outbox} id={id} layouts={layouts.length} entryId={entryId} />
      )}
      {order && layout && (!entryId || entry?.refusal) && (
        <OneOutcome
          key={`${at} ${entryId ?? ""}`}
          branch={branch}
          order={order}
          layout={layout}
          at={at}
          refused={entry?.refusal ? { entry, run: run ?? create(RunSchema) } : null}
          onSaved={(saved) =>
            setSearch({ ...(at > 0 ? { layout: String(at) } : {}), entry: saved }, { replace: true })
          }
        />
      )}
      <LastRuns branch={branch} order={name} />
    </Screen>
  );
}

function layoutAt(layouts: readonly Layout[], run: Run | undefined, asked: number): number {
  if (!run) return layouts[asked] ? asked : 0;
  return Math.max(
    0,
    layouts.findIndex(({ film, colour }) => film === run.film && colour === run.colour),
  );
}

type OneOutcomeProps = {
  branch: string;
  order: Order;
  layout: Layout;
  at: number;
  refused: { entry: Entry; run: Run } | null;
  onSaved: (id: string) => void;
};

function OneOutcome({ branch, order, layout, at, refused, onSaved }: OneOutcomeProps) {
  const [id] = useState(() => refused?.entry.id ?? uuid());
  const [outcome, setOutcome] = useState<Outcome>(() =>
    refused ? outcomeOfRun(refused.run, layout) : outcomeOf(layout, order),
  );
  async function save() {
    const now = Date.now();
    const work = workOn(order.name, at).value();
    const planned = Number(layout.cuttingSeconds + layout.weedingSeconds) * 1_000;
    const run = runOf({
      id,
      branch,
      order,
      layout,
      outcome,
      startMs: startOf(refused?.run) ?? work.startedAt ?? now - planned,
      endMs: endOf(refused?.run) ?? now,
      dwellSeconds: refused ? Number(refused.run.timedDwellSeconds) : meanDwell(work),
    });
    const what = `${layout.filmTitle}, ${layout.colour}`;
    const entry = { branch, order: order.name, savedAt: now } as const;
    const entries: NewEntry[] = [
      {
        ...entry,
        id,
        kind: "run",
        title: `${order.title || "Run"}: ${what}`,
        bytes: toBinary(RunSchema, run),
      },
    ];
    // The draw was put down with the first report; a corrected one does not draw again.
    if (layout.roll !== "" && !refused) {
      const draw = create(MoveRollRequestSchema, {
        roll: layout.roll,
        changeMm: -run.drawnMm,
        why: "draw",
        id: uuid(),
      });
      entries.push({
        ...entry,
        id: draw.id,
        kind: "draw",
        title: `Drawn from roll ${lastPart(layout.roll)}: ${what}`,
        bytes: toBinary(MoveRollRequestSchema, draw),
      });
    }
    await saveEntries(entries);
    onSaved(id);
  }
  return (
    <OutcomeForm
      outcome={outcome}
      layout={layout}
      onChange={(to) => setOutcome((was) => ({ ...was, ...to }))}
      onSave={save}
    />
  );
}

const startOf = (run: Run | undefined): number | undefined =>
  run?.startTime && Number(run.startTime.seconds) * 1_000;
const endOf = (run: Run | undefined): number | undefined =>
  run?.endTime && Number(run.endTime.seconds) * 1_000;

type ToldProps = { entry: Entry | undefined; outbox: Outbox; id: string; layouts: number; entryId: string };

/** Told says how far the report has come: saved on this tablet, sent, confirmed. */
function Told({ entry, outbox, id, layouts, entryId }: ToldProps) {
  if (outbox.entries === null) return <Loading what="the outbox" />;
  if (!entry)
    return (
      <Empty
        title="This report is no longer on this tablet."
        action={<ButtonLink to={paths.bench}>To the bench</ButtonLink>}
      >
        <p>
          Report {entryId.slice(0, 8)} was confirmed more than a day ago, or discarded. Its run stands below.
        </p>
      </Empty>
    );
  if (entry.refusal)
    return (
      <Notice kind="block" live title="The report was not taken.">
        <p>{entry.refusal.words}</p>
        {entry.refusal.fields.map(({ path, words }) => (
          <p key={path + words}>
            {path} {words}
          </p>
        ))}
        {entry.refusal.reference !== "" && <small>Reference {entry.refusal.reference}</small>}
      </Notice>
    );
  return (
    <>
      <p role="status">
        <KeepingMark keeping={entry.keeping} />
      </p>
      <p>
        {entry.keeping === "confirmed"
          ? "Head office's ledger holds it."
          : "It is kept here until the server confirms it; you can go on working."}
      </p>
      <Actions>
        <ButtonLink kind="main" to={paths.bench}>
          To the bench
        </ButtonLink>
        {layouts > 1 && <ButtonLink to={paths.plan(id)}>The next film</ButtonLink>}
        <ButtonLink to={withQuery(paths.newPlan, { again: id })}>Plan it again</ButtonLink>
      </Actions>
    </>
  );
}
