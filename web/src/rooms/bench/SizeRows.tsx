import { Button } from "../../kit/Button.tsx";
import { TextField } from "../../kit/Field.tsx";
import { type FieldFault, wordsFor } from "../../kit/fault.ts";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { Count } from "./Count.tsx";
import type { SizeChoice } from "./wanted.ts";

const mostRows = 40; // orders.v1 OrderLine.sizes
const widest = millimetres(2000); // orders.v1 ReadDrawingRequest.width_um

type SizeRowsProps = {
  sizes: SizeChoice[];
  faults: readonly FieldFault[];
  onChange: (sizes: SizeChoice[]) => void;
};

/** SizeRows asks how many of each size, and how wide the design is on it. */
export function SizeRows({ sizes, faults, onChange }: SizeRowsProps) {
  const change = (at: number, to: Partial<SizeChoice>) =>
    onChange(sizes.map((size, index) => (index === at ? { ...size, ...to } : size)));
  const last = sizes.at(-1);
  return (
    <div className={styles.sizes}>
      {sizes.map((size, at) => (
        <fieldset key={size.key} className={styles.size} aria-label={`Size ${at + 1}`}>
          <TextField
            label="Size"
            hint="As on the garment: M, 104 …"
            maxLength={20}
            value={size.size}
            onChange={(text) => change(at, { size: text })}
          />
          <Count
            label="How many"
            path={`sizes[${at}].count`}
            fault={wordsFor(faults, `sizes[${at}].count`)}
            value={size.count}
            onChange={(count) => change(at, { count })}
          />
          <QuantityField
            label="Design width"
            hint="Empty takes the drawing's own."
            quantity="length"
            optional
            value={size.widthMm === null ? null : millimetres(size.widthMm)}
            allowed={{ low: millimetres(5), high: widest, reason: "what can be cut and laid" }}
            onChange={(widthMm) => change(at, { widthMm })}
          />
          {sizes.length > 1 && (
            <Button kind="plain" onClick={() => onChange(sizes.filter((_, index) => index !== at))}>
              Take size {size.size || at + 1} out
            </Button>
          )}
        </fieldset>
      ))}
      <div>
        <Button
          {...(sizes.length < mostRows ? {} : { because: `At most ${mostRows} sizes in one order.` })}
          onClick={() =>
            onChange([
              ...sizes,
              { key: (last?.key ?? 0) + 1, size: "", count: 1, widthMm: last?.widthMm ?? null },
            ])
          }
        >
          Add a size
        </Button>
      </div>
    </div>
  );
}
