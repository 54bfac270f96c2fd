import { Checkbox, Select } from "../../kit/Field.tsx";
import { QuantityField } from "../../kit/QuantityField.tsx";
import { millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";
import { type LayChoice, type TurnsWord, turnsWords } from "./wanted.ts";

type LayRowsProps = { lay: LayChoice; onChange: (lay: LayChoice) => void };

const most = millimetres(100);

/** LayRows asks how designs may lie on the film. What is left as it is follows the recipe. */
export function LayRows({ lay, onChange }: LayRowsProps) {
  const change = (to: Partial<LayChoice>) => onChange({ ...lay, ...to });
  return (
    <details className={styles.more}>
      <summary>How designs may lie</summary>
      <div className={styles.fields}>
        <Select
          label="Designs may be turned"
          hint="Never further than the film itself allows: glitter and nap have a direction."
          value={lay.turns}
          options={(Object.keys(turnsWords) as TurnsWord[]).map((value) => ({
            value,
            words: turnsWords[value].words,
          }))}
          onChange={(turns) => change({ turns })}
        />
        <QuantityField
          label="Gap between designs"
          hint="Empty is the recipe’s."
          optional
          quantity="length"
          value={lay.gapMm === null ? null : millimetres(lay.gapMm)}
          allowed={{ low: millimetres(1), high: most, reason: "what a blade leaves whole between two cuts" }}
          onChange={(gapMm) => change({ gapMm })}
        />
        <QuantityField
          label="Weeding border around each"
          hint="Empty is the recipe’s."
          optional
          quantity="length"
          value={lay.weedBorderMm === null ? null : millimetres(lay.weedBorderMm)}
          allowed={{ low: millimetres(0), high: most, reason: "more is film thrown away" }}
          onChange={(weedBorderMm) => change({ weedBorderMm })}
        />
      </div>
      <Checkbox
        label="Fit outlines into each other"
        hint="Off, each design keeps the box around it."
        checked={lay.trueOutlines}
        onChange={(trueOutlines) => change({ trueOutlines })}
      />
      <Checkbox
        label="Keep each size together"
        hint="Weeding stays sorted; it takes a little more film."
        checked={lay.grouped}
        onChange={(grouped) => change({ grouped })}
      />
      <Checkbox
        label="Use up remnants first"
        hint="The order may then be cut from several pieces."
        checked={lay.useRemnants}
        onChange={(useRemnants) => change({ useRemnants })}
      />
    </details>
  );
}
