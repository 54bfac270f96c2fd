// Field is the frame of every input: label above, hint under it, then what is wrong, then the input itself.
import { type ComponentProps, type ReactNode, useId } from "react";
import { classes } from "./classes.ts";
import styles from "./Field.module.css";

export type FieldWords = {
  label: ReactNode;
  /** What is asked for, allowed, or usual; stays visible while typing. */
  hint?: ReactNode;
  /** What is wrong, the same words as in the ErrorSummary. */
  fault?: string | undefined;
  /** Say so where something may be left out; everything else is needed. */
  optional?: boolean;
};

type Wiring = {
  id: string;
  "aria-describedby": string | undefined;
  "aria-invalid": true | undefined;
};

type FieldProps = FieldWords & {
  /** Path of the field in the message; the ErrorSummary links to it. */
  path?: string | undefined;
  children: (wiring: Wiring) => ReactNode;
};

/** fieldId is the element id of the input for a path, which the ErrorSummary links to. */
export const fieldId = (path: string): string => `field-${path.replace(/[^\w]+/g, "-")}`;

/** Field frames one input of any kind. */
export function Field({ label, hint, fault, optional, path, children }: FieldProps) {
  const own = useId();
  const id = path ? fieldId(path) : own;
  const described = [hint !== undefined && `${id}-hint`, fault && `${id}-fault`].filter(Boolean).join(" ");
  return (
    <div className={classes(styles.field, fault && styles.wrong)}>
      <label htmlFor={id} className={styles.label}>
        {label}
        {optional && <span className={styles.optional}> (can be left out)</span>}
      </label>
      {hint !== undefined && (
        <div id={`${id}-hint`} className={styles.hint}>
          {hint}
        </div>
      )}
      {fault && (
        <p id={`${id}-fault`} className={styles.fault}>
          <span className="unseen">Error: </span>
          {fault}
        </p>
      )}
      {children({ id, "aria-describedby": described || undefined, "aria-invalid": fault ? true : undefined })}
    </div>
  );
}

type TextProps = FieldWords & {
  path?: string;
  value: string;
  onChange: (value: string) => void;
  /** Lines; more than one makes it a text area. */
  lines?: number;
} & Omit<ComponentProps<"input">, "value" | "onChange" | "className" | "id" | "children">;

/** TextField asks for words. */
export function TextField({
  label,
  hint,
  fault,
  optional,
  path,
  value,
  onChange,
  lines = 1,
  ...rest
}: TextProps) {
  return (
    <Field {...{ label, hint, fault, path }} {...(optional ? { optional } : {})}>
      {(wiring) =>
        lines > 1 ? (
          <textarea
            {...wiring}
            className={styles.input}
            rows={lines}
            name={rest.name}
            maxLength={rest.maxLength}
            value={value}
            onChange={(event) => onChange(event.target.value)}
          />
        ) : (
          <input
            type="text"
            autoComplete="off"
            {...rest}
            {...wiring}
            className={styles.input}
            value={value}
            onChange={(event) => onChange(event.target.value)}
          />
        )
      }
    </Field>
  );
}

export type Option<T extends string> = { value: T; words: string; hint?: ReactNode; picture?: ReactNode };

type SelectProps<T extends string> = FieldWords & {
  path?: string;
  value: T | "";
  options: readonly Option<T>[];
  onChange: (value: T) => void;
  /** Words of the empty choice; leave out where something is always chosen. */
  none?: string;
};

/** Select asks for one of many. For six or fewer use Choice, where all are seen at once. */
export function Select<T extends string>(props: SelectProps<T>) {
  const { value, options, onChange, none, label, hint, fault, path, optional } = props;
  return (
    <Field {...{ label, hint, fault, path }} {...(optional ? { optional } : {})}>
      {(wiring) => (
        <select
          {...wiring}
          className={classes(styles.input, styles.select)}
          value={value}
          onChange={(event) => onChange(event.target.value as T)}
        >
          {none !== undefined && <option value="">{none}</option>}
          {options.map((option) => (
            <option key={option.value} value={option.value}>
              {option.words}
            </option>
          ))}
        </select>
      )}
    </Field>
  );
}

type ChoiceProps<T extends string> = {
  /** The question. */
  label: ReactNode;
  hint?: ReactNode;
  fault?: string | undefined;
  path?: string;
  value: T | "";
  options: readonly Option<T>[];
  onChange: (value: T) => void;
  /** Side by side where there is room. */
  row?: boolean;
  /** Pictures above words, as in the picker of faults. */
  tiles?: boolean;
};

/** Choice asks for one of a few, all of them visible; pictures may stand above the words. */
export function Choice<T extends string>(props: ChoiceProps<T>) {
  const { label, hint, fault, path, value, options, onChange, row, tiles } = props;
  const own = useId();
  const id = path ? fieldId(path) : own;
  return (
    <fieldset
      className={classes(styles.field, styles.group, fault && styles.wrong)}
      aria-describedby={fault ? `${id}-fault` : undefined}
    >
      <legend className={styles.label}>{label}</legend>
      {hint !== undefined && <div className={styles.hint}>{hint}</div>}
      {fault && (
        <p id={`${id}-fault`} className={styles.fault}>
          <span className="unseen">Error: </span>
          {fault}
        </p>
      )}
      <div className={classes(styles.options, row && styles.row, tiles && styles.tiles)}>
        {options.map((option, at) => (
          <label
            key={option.value}
            className={classes(styles.option, option.picture !== undefined && styles.pictured)}
          >
            <input
              type="radio"
              name={own}
              id={at === 0 ? id : undefined}
              className={styles.dot}
              checked={value === option.value}
              onChange={() => onChange(option.value)}
            />
            {option.picture}
            <span>
              {option.words}
              {option.hint !== undefined && <small className={styles.optionHint}>{option.hint}</small>}
            </span>
          </label>
        ))}
      </div>
    </fieldset>
  );
}

type CheckboxProps = {
  label: ReactNode;
  hint?: ReactNode;
  fault?: string | undefined;
  path?: string;
  checked: boolean;
  onChange: (checked: boolean) => void;
};

/** Checkbox asks for yes or no. */
export function Checkbox({ label, hint, fault, path, checked, onChange }: CheckboxProps) {
  const own = useId();
  const id = path ? fieldId(path) : own;
  return (
    <div className={classes(styles.field, fault && styles.wrong)}>
      {fault && (
        <p id={`${id}-fault`} className={styles.fault}>
          <span className="unseen">Error: </span>
          {fault}
        </p>
      )}
      <label className={styles.option}>
        <input
          type="checkbox"
          id={id}
          className={styles.tick}
          checked={checked}
          aria-invalid={fault ? true : undefined}
          aria-describedby={fault ? `${id}-fault` : undefined}
          onChange={(event) => onChange(event.target.checked)}
        />
        <span>
          {label}
          {hint !== undefined && <small className={styles.optionHint}>{hint}</small>}
        </span>
      </label>
    </div>
  );
}
