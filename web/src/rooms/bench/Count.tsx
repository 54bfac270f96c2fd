import { useId } from "react";
import { useUnits } from "../../kit/choices.ts";
import { Field } from "../../kit/Field.tsx";
import { parseNumber } from "../../units/numbers.ts";
import styles from "./bench.module.css";

type CountProps = {
  label: string;
  hint?: string;
  fault?: string | undefined;
  path?: string;
  /** Whole number; null while nothing readable stands there. */
  value: number | null;
  onChange: (value: number | null) => void;
  least?: number;
  most?: number;
};

const usualMost = 100_000;

/** Count asks for a whole number with two large steppers. What is typed is never moved to a limit. */
export function Count({
  label,
  hint,
  fault,
  path,
  value,
  onChange,
  least = 0,
  most = usualMost,
}: CountProps) {
  const { locale } = useUnits();
  const own = useId();
  const wrong =
    value !== null && (value < least || value > most)
      ? `${value} is outside ${least} to ${most}.`
      : undefined;
  const move = (by: number) => onChange(Math.min(most, Math.max(least, (value ?? least - by) + by)));
  return (
    <Field {...{ label, hint, path: path ?? own }} fault={fault ?? wrong}>
      {(wiring) => (
        <span className={styles.counter}>
          <button type="button" aria-label={`Less: ${label}`} onClick={() => move(-1)}>
            −
          </button>
          <input
            {...wiring}
            type="text"
            inputMode="numeric"
            autoComplete="off"
            value={value ?? ""}
            onChange={(event) => {
              const read = parseNumber(event.target.value, locale);
              onChange(read.ok && Number.isInteger(read.value) ? read.value : null);
            }}
          />
          <button type="button" aria-label={`More: ${label}`} onClick={() => move(1)}>
            +
          </button>
        </span>
      )}
    </Field>
  );
}
