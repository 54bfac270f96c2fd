import { Checkbox, fieldId } from "../../kit/Field.tsx";
import styles from "./Releases.module.css";

type TicksProps = {
  legend: string;
  path: string;
  fault: string | undefined;
  options: readonly { value: string; words: string; hint?: string }[];
  chosen: ReadonlySet<string>;
  onChange: (chosen: ReadonlySet<string>) => void;
};

/** Ticks asks for any number of a list. */
export function Ticks({ legend, path, fault, options, chosen, onChange }: TicksProps) {
  const id = fieldId(path);
  return (
    <fieldset
      className={styles.choices}
      id={id}
      tabIndex={-1}
      aria-describedby={fault ? `${id}-fault` : undefined}
    >
      <legend>{legend}</legend>
      {fault && (
        <p id={`${id}-fault`} className={styles.fault}>
          {fault}
        </p>
      )}
      <div className={styles.columns}>
        {options.map((option) => (
          <Checkbox
            key={option.value}
            label={option.words}
            {...(option.hint ? { hint: option.hint } : {})}
            checked={chosen.has(option.value)}
            onChange={(on) => {
              const next = new Set(chosen);
              if (on) next.add(option.value);
              else next.delete(option.value);
              onChange(next);
            }}
          />
        ))}
      </div>
    </fieldset>
  );
}
