// FieldInput is the input for one field of a record, whatever it holds. What can not be read stays as it was typed
// and is told to the form, so that it is never saved as something else.
import { createContext, type ReactNode, useContext, useState } from "react";
import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Checkbox, Choice, Select, TextField } from "../../kit/Field.tsx";
import { type Allowed, QuantityField } from "../../kit/QuantityField.tsx";
import { decimalText, parseMoney } from "../../units/money.ts";
import { parseNumber } from "../../units/numbers.ts";
import type { Kept, QuantityName } from "../../units/quantities.ts";
import styles from "./Draft.module.css";
import { type Field, put, valueAt } from "./fields.ts";

type Editing = {
  /** What is wrong with the field at this path. */
  faultAt: (path: string) => string | undefined;
  /** Paths whose text can not be kept, with the reason. */
  unread: ReadonlyMap<string, string>;
  /** Whether anything is wrong at or inside this path. */
  wrongWithin: (path: string) => boolean;
  tell: (path: string, words: string | null) => void;
  currency: string;
  /** What the record itself allows at this path, and why. */
  allowedAt: (path: string) => { low: number; high: number; reason: string } | undefined;
};

export const EditingContext = createContext<Editing>({
  faultAt: () => undefined,
  unread: new Map(),
  wrongWithin: () => false,
  tell: () => {},
  currency: "XXX",
  allowedAt: () => undefined,
});

type FieldInputProps = {
  field: Field;
  /** Where the field stands in the record, with the number of its row where it is in a list. */
  path: string;
  value: unknown;
  onChange: (value: unknown) => void;
};

/** FieldInput asks for one value. */
export function FieldInput({ field, path, value, onChange }: FieldInputProps) {
  const { faultAt, unread, tell, allowedAt } = useContext(EditingContext);
  const fault = faultAt(path);
  const allowed = allowedAt(path);
  const shared = {
    label: field.words,
    path,
    ...(field.hint ? { hint: field.hint } : {}),
    ...(fault ? { fault } : {}),
    ...(field.optional ? { optional: true } : {}),
  };
  switch (field.as) {
    case "quantity":
      return (
        <QuantityField
          {...shared}
          quantity={field.quantity}
          {...(allowed ? { allowed: allowed as Allowed<QuantityName> } : {})}
          value={unread.has(path) ? null : (Number(value ?? 0n) as Kept[QuantityName])}
          onChange={(kept, reading) => {
            tell(path, kept === null ? problem(reading) : null);
            if (kept !== null) onChange(BigInt(kept));
          }}
        />
      );
    case "count":
    case "money":
    case "thousandths":
      return <NumberText {...{ field, path, value, onChange }} />;
    case "yes":
      return (
        <Checkbox
          label={field.words}
          path={path}
          checked={Boolean(value)}
          onChange={onChange}
          {...(fault ? { fault } : {})}
        />
      );
    case "choice":
      return (
        <Select
          {...shared}
          value={String(value ?? "")}
          options={field.options}
          none="Choose…"
          onChange={onChange}
        />
      );
    case "kind":
      return (
        <Choice
          label={field.words}
          path={path}
          row
          {...(fault ? { fault } : {})}
          value={String(value ?? "0")}
          options={field.options}
          onChange={(chosen) => onChange(Number(chosen))}
        />
      );
    case "lines":
      return (
        <TextField
          {...shared}
          lines={Math.max(2, (value as string[]).length + 1)}
          value={(value as string[]).join("\n")}
          onChange={(text) => onChange(text === "" ? [] : text.split("\n"))}
        />
      );
    case "rows":
      return <Rows {...{ field, path, onChange }} value={value as object[]} />;
    case "day":
      return <TextField {...shared} type="date" value={String(value ?? "")} onChange={onChange} />;
    default:
      return (
        <TextField {...shared} lines={field.lines ?? 1} value={String(value ?? "")} onChange={onChange} />
      );
  }
}

const problem = (reading: "number" | "empty" | "unreadable") =>
  reading === "empty" ? "is empty; type a number" : "can not be read as one number";

/** NumberText asks for a whole number, an amount or thousandths, and keeps the text as it is typed. */
function NumberText({ field, path, value, onChange }: FieldInputProps) {
  const { faultAt, unread, tell, currency } = useContext(EditingContext);
  const { locale } = useUnits();
  const kept = value as bigint;
  const [typed, setTyped] = useState<{ text: string; means: bigint | null } | null>(null);
  const own = typed !== null && (unread.has(path) || typed.means === kept);
  const wrong = unread.get(path);
  const fault = faultAt(path) ?? (wrong ? `${field.words} ${wrong}.` : undefined);
  const write = () => {
    if (field.as === "count") return String(kept);
    const text =
      field.as === "money" ? decimalText({ minor: kept, currency }) : (Number(kept) / 1000).toString();
    // The text goes back through parseNumber, which takes the locale's own decimal sign.
    return decimalIsComma(locale) ? text.replace(".", ",") : text;
  };
  return (
    <TextField
      label={field.as === "money" && currency !== "XXX" ? `${field.words} (${currency})` : field.words}
      path={path}
      inputMode="decimal"
      {...(field.hint ? { hint: field.hint } : {})}
      {...(fault ? { fault } : {})}
      value={own ? typed.text : write()}
      onChange={(text) => {
        const read = readWhole(field, text, currency, locale);
        setTyped({ text, means: typeof read === "bigint" ? read : null });
        tell(path, typeof read === "bigint" ? null : read);
        if (typeof read === "bigint") onChange(read);
      }}
    />
  );
}

const decimalIsComma = (locale: string) => new Intl.NumberFormat(locale).format(1.5).includes(",");

/** readWhole gives the whole number to keep, or why there is none. */
function readWhole(field: Field, text: string, currency: string, locale: string): bigint | string {
  if (field.as === "money") {
    const read = parseMoney(text, currency, locale);
    if (read.ok) return read.money.minor;
    return read.why === "too fine"
      ? "is finer than the smallest coin"
      : problem(read.why === "empty" ? "empty" : "unreadable");
  }
  const read = parseNumber(text, locale);
  if (!read.ok) return problem(read.why === "empty" ? "empty" : "unreadable");
  const scaled = read.value * (field.as === "thousandths" ? 1000 : 1);
  const whole = Math.round(scaled);
  if (Math.abs(scaled - whole) > 1e-6)
    return field.as === "count" ? "must be a whole number" : "has more than three decimals";
  return BigInt(whole);
}

type RowsProps = {
  field: Extract<Field, { as: "rows" }>;
  path: string;
  value: readonly object[];
  onChange: (value: unknown) => void;
};

function Rows({ field, path, value, onChange }: RowsProps) {
  const { faultAt, unread, tell } = useContext(EditingContext);
  const fault = faultAt(path);
  // Numbers of rows move when one is taken out, so what could not be read in them has no place any more.
  const forget = () => {
    for (const known of unread.keys()) if (known.startsWith(`${path}[`)) tell(known, null);
  };
  return (
    <fieldset className={styles.rows}>
      <legend>{field.words}</legend>
      {field.hint && <small>{field.hint}</small>}
      {fault && <p className={styles.fault}>{fault}</p>}
      {value.map((row, at) => (
        <Fold key={at} field={field} row={row} path={`${path}[${at}]`}>
          {field.columns.map((column) => (
            <FieldInput
              key={column.path}
              field={column}
              path={`${path}[${at}].${column.path}`}
              value={valueAt(row, column.path)}
              onChange={(next) => {
                const copy = { ...row };
                put(copy, column.path, next);
                onChange(value.map((other, index) => (index === at ? copy : other)));
              }}
            />
          ))}
          <div>
            <Button
              kind="plain"
              onClick={() => {
                forget();
                onChange(value.filter((_, index) => index !== at));
              }}
            >
              Take out {field.one} {at + 1}
            </Button>
          </div>
        </Fold>
      ))}
      <div>
        <Button onClick={() => onChange([...value, field.blank()])}>Add a {field.one}</Button>
      </div>
    </fieldset>
  );
}

type FoldProps = { field: RowsProps["field"]; row: object; path: string; children: ReactNode };

/** Fold holds one row. A folded one is made only once it is opened: a table of places has a thousand fields. */
function Fold({ field, row, path, children }: FoldProps) {
  const { wrongWithin, unread } = useContext(EditingContext);
  const [opened, setOpened] = useState(false);
  if (!field.folded) return <div className={styles.row}>{children}</div>;
  const kept = [...unread.keys()].some((known) => known.startsWith(`${path}.`)) || wrongWithin(path);
  const open = opened || kept;
  const words = field.columns
    .filter((column) => column.as === "words")
    .slice(0, 2)
    .map((column) => valueAt(row, column.path))
    .filter((said) => said !== "");
  return (
    <details open={open} onToggle={(event) => setOpened(event.currentTarget.open)}>
      <summary>{words.join(", ") || `New ${field.one}`}</summary>
      {open && <div className={styles.row}>{children}</div>}
    </details>
  );
}
