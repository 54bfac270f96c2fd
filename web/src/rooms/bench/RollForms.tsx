import { useMutation } from "@connectrpc/connect-query";
import { type FormEvent, type ReactNode, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { TextField } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Failure, Notice } from "../../kit/Notice.tsx";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { uuid } from "../../kit/uuid.ts";
import { type Roll, StockService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { type Micrometres, type Millimetres, millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";

type FormProps = {
  roll: Roll;
  /** Words of what was stored. */
  onStored: (words: string) => void;
};

type FrameProps = {
  /** What this screen itself finds wrong; empty sends. */
  asked: readonly FieldFault[];
  error: unknown;
  failed: string;
  pending: boolean;
  words: string;
  onSend: () => Promise<void>;
  children: (faults: readonly FieldFault[]) => ReactNode;
};

/** Frame is what the forms of stock share: what is wrong is said at once and in place, and sending waits for it. */
export function Frame({ asked, error, failed, pending, words, onSend, children }: FrameProps) {
  const [attempt, setAttempt] = useState(0);
  const fault = error ? faultOf(error) : null;
  const faults = attempt === 0 ? [] : asked.length > 0 ? asked : (fault?.fields ?? []);
  function submit(event: FormEvent) {
    event.preventDefault();
    setAttempt(attempt + 1);
    if (asked.length > 0 || pending) return;
    onSend().catch(() => undefined); // shown from error
  }
  return (
    <form className={styles.step} noValidate onSubmit={submit}>
      <ErrorSummary faults={faults} attempt={attempt} />
      {fault && fault.fields.length === 0 && <Failure fault={fault} title={failed} />}
      {children(faults)}
      <Actions>
        <Button kind="main" type="submit" pending={pending} pendingWords="Storing…">
          {words}
        </Button>
      </Actions>
    </form>
  );
}

export const wrongIf = (...checks: readonly (false | FieldFault)[]) =>
  checks.filter((check) => check !== false);

/** CountForm corrects what is left after somebody measured it; the difference is kept as a movement. */
export function CountForm({ roll, onStored }: FormProps) {
  const units = useUnits();
  const [id] = useState(uuid);
  const [left, setLeft] = useState<Millimetres | null>(null);
  const count = useMutation(StockService.method.countRoll);
  return (
    <Frame
      asked={wrongIf(
        (left === null || left < 0) && { path: "counted_mm", words: "Say how much was measured." },
      )}
      error={count.error}
      failed="The count was not stored"
      pending={count.isPending}
      words="Store the count"
      onSend={async () => {
        const { movement } = await count.mutateAsync({ roll: roll.name, countedMm: BigInt(left ?? 0), id });
        const change = movement?.changeMm ?? 0n;
        onStored(
          change === 0n
            ? "Counted: it agrees with the account."
            : `Counted: ${units.change("rollLength", millimetres(change))} against the account.`,
        );
      }}
    >
      {(faults) => (
        <QuantityField
          label="Length measured"
          hint={`Expected ${units.show("rollLength", millimetres(roll.lengthMm))}.`}
          quantity="rollLength"
          path="counted_mm"
          fault={wordsFor(faults, "counted_mm")}
          value={left}
          onChange={setLeft}
        />
      )}
    </Frame>
  );
}

/** RemnantForm cuts a piece off and puts it away as stock of its own. */
export function RemnantForm({ roll, onStored }: FormProps) {
  const units = useUnits();
  const [id] = useState(uuid);
  const [length, setLength] = useState<Millimetres | null>(null);
  const [width, setWidth] = useState<Millimetres | null>(millimetres(roll.widthMm));
  const [place, setPlace] = useState(roll.place);
  const cut = useMutation(StockService.method.cutRemnant);
  return (
    <Frame
      asked={wrongIf(
        (length === null || length < 1) && { path: "length_mm", words: "Say how long the piece is." },
        length !== null &&
          length > Number(roll.lengthMm) && {
            path: "length_mm",
            words: `Only ${units.show("rollLength", millimetres(roll.lengthMm))} are left; count the roll first if there is more.`,
          },
        (width === null || width < 1 || width > Number(roll.widthMm)) && {
          path: "width_mm",
          words: `Its width is from 1 mm to the roll’s ${units.show("length", millimetres(roll.widthMm))}.`,
        },
      )}
      error={cut.error}
      failed="The remnant was not stored"
      pending={cut.isPending}
      words="Put it away"
      onSend={async () => {
        await cut.mutateAsync({
          roll: roll.name,
          lengthMm: BigInt(length ?? 0),
          widthMm: BigInt(width ?? 0),
          place: place.trim(),
          id,
        });
        onStored(`Put away: a remnant of ${units.show("rollLength", millimetres(length ?? 0))}.`);
      }}
    >
      {(faults) => (
        <div className={styles.fields}>
          <QuantityField
            label="Length cut off"
            quantity="rollLength"
            path="length_mm"
            fault={wordsFor(faults, "length_mm")}
            value={length}
            onChange={setLength}
          />
          <QuantityField
            label="Width"
            hint="Less than the roll’s where a strip was used already."
            quantity="length"
            path="width_mm"
            fault={wordsFor(faults, "width_mm")}
            value={width}
            onChange={setWidth}
          />
          <TextField
            label="Place"
            hint="Shelf or box."
            optional
            path="place"
            fault={wordsFor(faults, "place")}
            maxLength={60}
            value={place}
            onChange={setPlace}
          />
        </div>
      )}
    </Frame>
  );
}

/** WasteForm notes film that was spoilt outside an order: a crease, a jam, a wrong cut. */
export function WasteForm({ roll, onStored }: FormProps) {
  const units = useUnits();
  const [id] = useState(uuid);
  const [length, setLength] = useState<Millimetres | null>(null);
  const move = useMutation(StockService.method.moveRoll);
  return (
    <Frame
      asked={wrongIf(
        (length === null || length < 1) && { path: "change_mm", words: "Say how much was spoilt." },
      )}
      error={move.error}
      failed="It was not stored"
      pending={move.isPending}
      words="Take it off"
      onSend={async () => {
        await move.mutateAsync({ roll: roll.name, changeMm: -BigInt(length ?? 0), why: "waste", id });
        onStored(`Taken off: ${units.show("rollLength", millimetres(length ?? 0))} spoilt.`);
      }}
    >
      {(faults) => (
        <QuantityField
          label="Length spoilt"
          hint="Film lost outside an order. What a run loses is reported with its outcome."
          quantity="rollLength"
          path="change_mm"
          fault={wordsFor(faults, "change_mm")}
          value={length}
          onChange={setLength}
        />
      )}
    </Frame>
  );
}

type DiametersProps = { branch: string; roll: Roll; onCount: () => void };

/** DiametersForm works the length out from two diameters: a warning, never the account. */
export function DiametersForm({ branch, roll, onCount }: DiametersProps) {
  const [outer, setOuter] = useState<Millimetres | null>(null);
  const [core, setCore] = useState<Millimetres | null>(null);
  const [thickness, setThickness] = useState<Micrometres | null>(null);
  const estimate = useMutation(StockService.method.estimateLength);
  const { data } = estimate;
  return (
    <>
      <Frame
        asked={wrongIf(
          (outer === null || outer < 1) && { path: "outer_um", words: "Measure across the whole roll." },
          (core === null || core < 0) && { path: "core_um", words: "Measure across the core." },
          outer !== null &&
            core !== null &&
            core >= outer && { path: "core_um", words: "The core is smaller than the roll." },
        )}
        error={estimate.error}
        failed="The length could not be estimated"
        pending={estimate.isPending}
        words="Estimate"
        onSend={async () => {
          await estimate.mutateAsync({
            branch,
            roll: roll.name,
            outerUm: BigInt(outer ?? 0) * 1000n,
            coreUm: BigInt(core ?? 0) * 1000n,
            thicknessUm: BigInt(thickness ?? 0),
          });
        }}
      >
        {(faults) => (
          <div className={styles.fields}>
            <QuantityField
              label="Across the whole roll"
              quantity="length"
              path="outer_um"
              fault={wordsFor(faults, "outer_um")}
              value={outer}
              onChange={setOuter}
            />
            <QuantityField
              label="Across its core"
              quantity="length"
              path="core_um"
              fault={wordsFor(faults, "core_um")}
              value={core}
              onChange={setCore}
            />
            <QuantityField
              label="Thickness of film and carrier"
              hint="Left out, the recipe’s is taken."
              optional
              quantity="thickness"
              path="thickness_um"
              fault={wordsFor(faults, "thickness_um")}
              value={thickness}
              onChange={setThickness}
            />
          </div>
        )}
      </Frame>
      {data && (
        <Notice
          live
          kind={data.doubtful ? "caution" : "info"}
          title={data.doubtful ? "The account may be wrong" : "The account agrees with the diameters"}
        >
          <p>{data.words}</p>
          {data.doubtful && (
            <Actions>
              <Button onClick={onCount}>Count it</Button>
            </Actions>
          )}
        </Notice>
      )}
    </>
  );
}
