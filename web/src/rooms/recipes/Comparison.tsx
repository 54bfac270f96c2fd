import { useUnits } from "../../kit/choices.ts";
import { Checkbox } from "../../kit/Field.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { recipeIn } from "./content.ts";
import styles from "./Pictures.module.css";
import { RecipePicture } from "./RecipePicture.tsx";
import { differences, inOneSentence } from "./writing.ts";

export type Side = { words: string; content: Content };

type ComparisonProps = {
  left: Side;
  right: Side;
  /** Show every field, not only those that differ. */
  all: boolean;
  onAll: (all: boolean) => void;
};

/** Comparison shows two contents beside each other: what differs in words, in two pictures, and field by field. */
export function Comparison({ left, right, all, onAll }: ComparisonProps) {
  const units = useUnits();
  const rows = differences(left.content, right.content, units);
  const changed = rows.filter((row) => row.change !== "").map((row) => row.field.path);
  return (
    <>
      <p className={styles.sentence}>{inOneSentence(rows)}</p>
      <div className={styles.sides}>
        {[left, right].map((side) => {
          const recipe = recipeIn(side.content);
          if (!recipe) return null;
          return (
            <section key={side.words} className={styles.side}>
              <h2>{side.words}</h2>
              <RecipePicture recipe={recipe} changed={changed} label={`Press cycle, ${side.words}`} />
            </section>
          );
        })}
      </div>
      <Part title="Field by field">
        <Checkbox label="Show fields that say the same too" checked={all} onChange={onAll} />
        <Table
          caption={`${left.words} against ${right.words}`}
          quietCaption
          rows={all ? rows : rows.filter((row) => row.change !== "")}
          keyOf={(row) => row.field.path}
          marked={(row) => row.change !== ""}
          empty="No difference: both say the same."
          columns={[
            { key: "field", words: "Field", heads: true, cell: (row) => row.field.words },
            {
              key: "left",
              words: left.words,
              cell: (row) => <span className={styles.lines}>{row.left}</span>,
            },
            {
              key: "right",
              words: right.words,
              cell: (row) => <span className={styles.lines}>{row.right}</span>,
            },
            { key: "change", words: "Difference", cell: (row) => <b>{row.change || "the same"}</b> },
          ]}
        />
      </Part>
    </>
  );
}
