import { type FormEvent, useState } from "react";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { FaultDrawing, faultWords } from "../../kit/drawings/FaultDrawing.tsx";
import { TextField } from "../../kit/Field.tsx";
import { wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Notice } from "../../kit/Notice.tsx";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { Part } from "../../kit/Screen.tsx";
import type { Layout } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { type Millimetres, millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { Count } from "./Count.tsx";
import { causeKeys, causes, faultsIn, leastDrawnMm, type Outcome, reprintCount } from "./outcome.ts";

type OutcomeFormProps = {
  outcome: Outcome;
  layout: Layout;
  onChange: (to: Partial<Outcome>) => void;
  /** Fails when this browser keeps nothing. */
  onSave: () => Promise<void>;
};

/** OutcomeForm asks for good garments, reprints by cause and film drawn; the plan has filled in what it knows. */
export function OutcomeForm({ outcome, layout, onChange, onSave }: OutcomeFormProps) {
  const units = useUnits();
  const [attempt, setAttempt] = useState(0);
  const [saving, setSaving] = useState(false);
  const [failed, setFailed] = useState(false);
  const [unreadable, setUnreadable] = useState(false);
  const faults = [
    ...faultsIn(outcome, layout),
    ...(unreadable ? [{ path: "drawn_mm", words: "The length drawn can not be read." }] : []),
  ];
  const shown = attempt === 0 ? [] : faults;
  const least = millimetres(leastDrawnMm(outcome, layout));

  async function submit(event: FormEvent) {
    event.preventDefault();
    setAttempt(attempt + 1);
    if (faults.length > 0 || saving) return;
    setSaving(true);
    try {
      await onSave();
    } catch {
      setFailed(true);
    } finally {
      setSaving(false);
    }
  }
  const loss = (label: string, key: "testCutMm" | "weedingMm" | "rollEndMm") => (
    <QuantityField
      label={label}
      quantity="length"
      steppers
      step={units.choice.length === "in" ? 1 : 10}
      value={millimetres(outcome[key])}
      onChange={(value: Millimetres | null) => onChange({ [key]: Math.max(0, value ?? 0) })}
    />
  );
  return (
    <form className={styles.step} onSubmit={submit} noValidate>
      <ErrorSummary faults={shown} attempt={attempt} />
      {failed && (
        <Notice kind="block" live title="Nothing was saved.">
          <p>
            This browser keeps nothing, so the report would be lost. Allow storage for this page and save
            again.
          </p>
        </Notice>
      )}
      <div className={styles.fields}>
        <Count
          label="Good garments"
          path="good_count"
          fault={wordsFor(shown, "good_count")}
          value={outcome.good}
          onChange={(good) => onChange({ good })}
        />
        <Count
          label="Pieces pressed"
          hint="Without what was made again."
          path="pieces_count"
          fault={wordsFor(shown, "pieces_count")}
          value={outcome.pieces}
          onChange={(pieces) => onChange({ pieces })}
        />
        <QuantityField
          label="Film drawn"
          hint={`Empty takes ${units.show("rollLength", least)}: plan, reprints and losses.`}
          quantity="rollLength"
          path="drawn_mm"
          fault={wordsFor(shown, "drawn_mm")}
          optional
          value={outcome.drawnMm === null ? null : millimetres(outcome.drawnMm)}
          onChange={(drawnMm, reading) => {
            setUnreadable(reading === "unreadable");
            onChange({ drawnMm });
          }}
        />
      </div>
      <Part title={`Made again: ${units.count(reprintCount(outcome))}`}>
        <div className={styles.causes} id="field-reprints" tabIndex={-1}>
          {causeKeys.map((cause) => (
            <div key={cause} className={styles.cause}>
              <FaultDrawing kind={causes[cause]} />
              <Count
                label={faultWords[causes[cause]]}
                value={outcome.reprints[cause] === undefined ? 0 : outcome.reprints[cause]}
                onChange={(count) => onChange({ reprints: { ...outcome.reprints, [cause]: count } })}
              />
            </div>
          ))}
        </div>
      </Part>
      <details className={styles.more}>
        <summary>Other losses, and the lot</summary>
        <div className={styles.fields}>
          {loss("Test cuts, length of film", "testCutMm")}
          {loss("Torn in weeding, length of film", "weedingMm")}
          {loss("Lost at the roll’s end", "rollEndMm")}
          <TextField
            label="Film lot"
            optional
            maxLength={60}
            value={outcome.lot}
            onChange={(lot) => onChange({ lot })}
          />
        </div>
        <p>
          <small>Film between the designs and at the rollers is known from the plan.</small>
        </p>
      </details>
      <Actions>
        <Button kind="main" type="submit" pending={saving} pendingWords="Saving…">
          Save
        </Button>
      </Actions>
    </form>
  );
}
