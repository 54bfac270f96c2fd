import { clone, create } from "@bufbuild/protobuf";
import { type FormEvent, useState } from "react";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { TextField } from "../../kit/Field.tsx";
import { type Fault, type FieldFault, wordsFor } from "../../kit/fault.ts";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import {
  DialPointSchema,
  type Machine,
  MachineKind,
  MachineSchema,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { parseNumber } from "../../units/numbers.ts";
import styles from "./bench.module.css";
import { CutterFields, profileOf, unreadable, withProfile } from "./CutterFields.tsx";
import { quantityWords, unitOf } from "./dials.ts";

type Typed = { key: number; dial: string; measured: string };

type CalibrationFormProps = {
  machine: Machine;
  pending: boolean;
  fault: Fault | null;
  /** Fails with what the server said. */
  onSave: (machine: Machine) => Promise<void>;
  onLeave: () => void;
};

/**
 * CalibrationForm takes what was measured at some settings of each dial and, of a cutter, how files are written for it.
 * Everything else of the machine stays.
 */
export function CalibrationForm({ machine, pending, fault, onSave, onLeave }: CalibrationFormProps) {
  const { locale } = useUnits();
  const plain = new Intl.NumberFormat(locale, { maximumFractionDigits: 3, useGrouping: false });
  const [day, setDay] = useState(machine.calibratedOn);
  const [dials, setDials] = useState<Typed[][]>(() =>
    machine.dials.map(({ points }) =>
      points.map(({ dialMilli, trueMilli }, key) => ({
        key,
        dial: plain.format(Number(dialMilli) / 1000),
        measured: plain.format(Number(trueMilli) / 1000),
      })),
    ),
  );
  const [profile, setProfile] = useState(() => profileOf(machine));
  const cuts = machine.kind === MachineKind.CUTTER;
  const [attempt, setAttempt] = useState(0);
  const milli = (text: string): bigint | null => {
    const read = parseNumber(text, locale);
    return read.ok ? BigInt(Math.round(read.value * 1000)) : null;
  };
  const asked: FieldFault[] = dials.flatMap((points, dial) =>
    points.flatMap(({ dial: shown, measured }, point) =>
      [
        { path: `dials[${dial}].points[${point}].dial_milli`, text: shown },
        { path: `dials[${dial}].points[${point}].true_milli`, text: measured },
      ]
        .filter(({ text }) => milli(text) === null)
        .map(({ path, text }) => ({ path, words: `“${text}” can not be read as a number.` })),
    ),
  );
  if (!/^\d{4}-\d\d-\d\d$/.test(day))
    asked.push({ path: "calibrated_on", words: "Write the day of calibration as 2027-03-31." });
  if (cuts) asked.push(...unreadable(profile, locale));
  const faults = attempt === 0 ? [] : asked.length > 0 ? asked : (fault?.fields ?? []);

  async function submit(event: FormEvent) {
    event.preventDefault();
    setAttempt(attempt + 1);
    if (asked.length > 0 || pending) return;
    const next = clone(MachineSchema, machine);
    next.calibratedOn = day;
    if (cuts) withProfile(next, profile, locale);
    next.dials.forEach((dial, at) => {
      dial.points = (dials[at] ?? [])
        .map(({ dial: shown, measured }) =>
          create(DialPointSchema, { dialMilli: milli(shown) ?? 0n, trueMilli: milli(measured) ?? 0n }),
        )
        .toSorted((a, b) => (a.dialMilli < b.dialMilli ? -1 : 1));
    });
    try {
      await onSave(next);
    } catch {
      // shown from fault
    }
  }
  const change = (dial: number, to: (points: Typed[]) => Typed[]) =>
    setDials(dials.map((points, at) => (at === dial ? to(points) : points)));
  return (
    <form className={styles.step} onSubmit={submit} noValidate>
      <ErrorSummary faults={faults} attempt={attempt} />
      {fault && fault.fields.length === 0 && <Failure fault={fault} title="The calibration was not stored" />}
      <TextField
        label="Day of calibration"
        hint="2027-03-31"
        path="calibrated_on"
        fault={wordsFor(faults, "calibrated_on")}
        value={day}
        onChange={setDay}
      />
      {cuts && (
        <CutterFields
          profile={profile}
          faults={faults}
          onChange={(to) => setProfile((was) => ({ ...was, ...to }))}
        />
      )}
      {machine.dials.map((dial, at) => (
        <fieldset key={dial.quantity} className={styles.dial}>
          <legend>
            <b>Dial of {quantityWords[dial.quantity]}</b>
          </legend>
          <div className={styles.points}>
            {(dials[at] ?? []).map((point, index) => (
              <div key={point.key} className={styles.point}>
                <TextField
                  label={`Dial ${index + 1} (${dial.scale})`}
                  inputMode="decimal"
                  path={`dials[${at}].points[${index}].dial_milli`}
                  fault={wordsFor(faults, `dials[${at}].points[${index}].dial_milli`)}
                  value={point.dial}
                  onChange={(text) =>
                    change(at, (points) =>
                      points.map((was) => (was === point ? { ...was, dial: text } : was)),
                    )
                  }
                />
                <TextField
                  label={`Measured ${index + 1} (${unitOf[dial.quantity]})`}
                  inputMode="decimal"
                  path={`dials[${at}].points[${index}].true_milli`}
                  fault={wordsFor(faults, `dials[${at}].points[${index}].true_milli`)}
                  value={point.measured}
                  onChange={(text) =>
                    change(at, (points) =>
                      points.map((was) => (was === point ? { ...was, measured: text } : was)),
                    )
                  }
                />
                <Button
                  kind="plain"
                  onClick={() => change(at, (points) => points.filter((was) => was !== point))}
                >
                  Take out<span className="unseen"> point {index + 1}</span>
                </Button>
              </div>
            ))}
          </div>
          <div>
            <Button
              onClick={() =>
                change(at, (points) => [
                  ...points,
                  { key: (points.at(-1)?.key ?? 0) + 1, dial: "", measured: "" },
                ])
              }
            >
              Add a point<span className="unseen"> to {quantityWords[dial.quantity]}</span>
            </Button>
          </div>
        </fieldset>
      ))}
      <Actions>
        <Button kind="main" type="submit" pending={pending} pendingWords="Storing…">
          Store the calibration
        </Button>
        <Button onClick={onLeave}>Leave it as it is</Button>
      </Actions>
    </form>
  );
}
