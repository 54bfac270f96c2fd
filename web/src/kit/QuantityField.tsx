// QuantityField asks for a number with a unit. It never changes what was typed: not to a limit, not to a step.
// (Measured: a common number field read "2,8" typed in English as 28, and snaps to limits unless told otherwise.
// At a press both are dangerous, so this one is our own: the text stays, and what is wrong with it is said.)
import { type KeyboardEvent, type ReactNode, useState } from "react";
import { shownAs } from "../units/choice.ts";
import { formatNumber, parseNumber } from "../units/numbers.ts";
import { fromShown, type Kept, type QuantityName, toShown } from "../units/quantities.ts";
import { useUnits } from "./choices.ts";
import { classes } from "./classes.ts";
import { Field, type FieldWords } from "./Field.tsx";
import styles from "./QuantityField.module.css";

export type Allowed<Q extends QuantityName> = {
  low: Kept[Q];
  high: Kept[Q];
  /** Why these limits, e.g. "tried between these in trial 14". Always given: a limit without a reason is not believed. */
  reason: string;
};

export type QuantityProps<Q extends QuantityName> = FieldWords & {
  quantity: Q;
  path?: string;
  /** The kept number; null when nothing or nothing readable stands there. */
  value: Kept[Q] | null;
  /** `reading` tells an empty field from text that is no number; refuse to save the second. */
  onChange: (value: Kept[Q] | null, reading: "number" | "empty" | "unreadable") => void;
  allowed?: Allowed<Q>;
  /** What one press of − or + adds, in the unit shown; 1 if left out. Leave `steppers` out to show none. */
  step?: number;
  steppers?: boolean;
  /** Name of the thing counted, read out by the steppers, when the label is not plain text. */
  name?: string;
};

/** QuantityField shows the unit beside the number, the range and its reason above, and what it keeps below. */
export function QuantityField<Q extends QuantityName>(props: QuantityProps<Q>) {
  const { quantity, path, value, onChange, allowed, step = 1, steppers, label, optional } = props;
  const units = useUnits();
  const unit = shownAs(quantity, units.choice);
  const write = (kept: number) => formatNumber(toShown(kept, unit), units.locale, unit.digits);

  // `typed` stands as long as it means the value handed in; a value from elsewhere, or another unit, replaces it.
  const [typed, setTyped] = useState<{ text: string; means: number | null; unit: string } | null>(null);
  const [left, setLeft] = useState(false); // complain after the field is left, not while it is being typed in
  const own = typed !== null && typed.means === value && typed.unit === unit.symbol;
  const text = own ? typed.text : value === null ? "" : write(value);

  const parsed = parseNumber(text, units.locale);
  const kept = parsed.ok ? fromShown(parsed.value, unit) : null;
  const fault =
    props.fault ??
    (left || !own ? faultIn(text, parsed.ok, kept?.kept ?? null, allowed, units.range, quantity) : undefined);

  function take(next: string) {
    const reading = parseNumber(next, units.locale);
    const means = reading.ok ? fromShown(reading.value, unit).kept : null;
    setTyped({ text: next, means, unit: unit.symbol });
    setLeft(false);
    onChange(
      means as Kept[Q] | null,
      reading.ok ? "number" : reading.why === "empty" ? "empty" : "unreadable",
    );
  }
  function move(by: number) {
    if (!parsed.ok && text.trim() !== "") return; // unreadable text is left for its author
    const from = parsed.ok ? parsed.value : toShown(allowed?.low ?? 0, unit) - by;
    take(
      formatNumber(Math.round((from + by) * 1e6) / 1e6, units.locale, Math.max(unit.digits, decimals(step))),
    );
  }
  function onKeyDown(event: KeyboardEvent) {
    const times = { ArrowUp: 1, ArrowDown: -1, PageUp: 10, PageDown: -10 }[event.key];
    if (times === undefined) return;
    event.preventDefault();
    move(times * step);
  }

  const range: ReactNode =
    allowed && `Allowed ${units.range(quantity, allowed.low, allowed.high)}: ${allowed.reason}.`;
  const hint = props.hint || range ? joinHint(props.hint, range) : undefined;
  const named = props.name ?? (typeof label === "string" ? label : "value");
  return (
    <Field label={label} hint={hint} fault={fault} path={path} {...(optional ? { optional } : {})}>
      {(wiring) => (
        <>
          <span className={classes(styles.line, steppers && styles.stepping)}>
            {steppers && <Stepper words={`Less: ${named}`} sign="−" onPress={() => move(-step)} />}
            <span className={styles.box}>
              <input
                {...wiring}
                className={styles.input}
                type="text"
                inputMode="decimal"
                autoComplete="off"
                value={text}
                onChange={(event) => take(event.target.value)}
                onKeyDown={onKeyDown}
                onBlur={() => setLeft(true)}
              />
              <span className={styles.unit}>{unit.symbol}</span>
            </span>
            {steppers && <Stepper words={`More: ${named}`} sign="+" onPress={() => move(step)} />}
          </span>
          {own && kept && !kept.exact && (
            <small aria-live="polite">
              Kept as {units.show(quantity, kept.kept as Kept[Q])}, the nearest whole step.
            </small>
          )}
        </>
      )}
    </Field>
  );
}

function faultIn<Q extends QuantityName>(
  text: string,
  readable: boolean,
  kept: number | null,
  allowed: Allowed<Q> | undefined,
  range: (quantity: Q, low: Kept[Q], high: Kept[Q]) => string,
  quantity: Q,
): string | undefined {
  if (text.trim() === "") return undefined; // whether it may be empty is asked on saving, not while typing
  if (!readable) return `“${text.trim()}” can not be read as one number.`;
  if (kept === null || !allowed) return undefined;
  if (kept >= allowed.low && kept <= allowed.high) return undefined;
  return `${text.trim()} is outside ${range(quantity, allowed.low, allowed.high)}.`;
}

const decimals = (step: number): number => (String(step).split(".")[1] ?? "").length;

function joinHint(hint: ReactNode, range: ReactNode): ReactNode {
  if (!hint) return range;
  if (!range) return hint;
  return (
    <>
      {hint}
      <br />
      {range}
    </>
  );
}

function Stepper({ words, sign, onPress }: { words: string; sign: string; onPress: () => void }) {
  return (
    <button type="button" className={styles.stepper} aria-label={words} onClick={onPress}>
      {sign}
    </button>
  );
}
