import { useUnits } from "../../kit/choices.ts";
import { Checkbox } from "../../kit/Field.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { Consequences } from "./Consequences.tsx";
import { recipeIn } from "./content.ts";
import styles from "./Pictures.module.css";
import { PriceLadders } from "./PriceLadders.tsx";
import { RecipePicture } from "./RecipePicture.tsx";
import { TextDifference } from "./TextDifference.tsx";
import { type Difference, differences, inOneSentence, isText } from "./writing.ts";

export type Side = { words: string; content: Content };

/** View is what of the comparison stands in the address. */
export type View = {
  /** Show every field, not only those that differ. */
  all: boolean;
  /** Film whose ladder is drawn. */
  film: string;
};

type ComparisonProps = {
  left: Side;
  right: Side;
  view: View;
  onView: (view: View) => void;
};

/** Comparison shows two contents beside each other: in words, in what follows, in pictures, and field by field. */
export function Comparison({ left, right, view, onView }: ComparisonProps) {
  const units = useUnits();
  const rows = differences(left.content, right.content, units);
  const changed = rows.filter((row) => row.change !== "");
  const texts = changed.filter((row) => isText(row.field) && row.left !== "" && row.right !== "");
  return (
    <>
      <p className={styles.sentence}>{inOneSentence(rows)}</p>
      <Consequences before={left.content} after={right.content} />
      <Pictures {...{ left, right, view, onView }} changed={changed.map((row) => row.field.path)} />
      {texts.length > 0 && (
        <Part title="Word by word">
          {texts.map((row) => (
            <section key={row.field.path}>
              <h3>{row.field.words}</h3>
              <TextDifference before={row.left} after={row.right} />
            </section>
          ))}
        </Part>
      )}
      <Part title="Field by field">
        <Checkbox
          label="Show fields that say the same too"
          checked={view.all}
          onChange={(all) => onView({ ...view, all })}
        />
        <FieldTable {...{ left, right }} rows={view.all ? rows : changed} />
      </Part>
    </>
  );
}

function Pictures({ left, right, view, onView, changed }: ComparisonProps & { changed: readonly string[] }) {
  const [was, now] = [left.content.content, right.content.content];
  if (was.case === "priceList" && now.case === "priceList")
    return (
      <PriceLadders
        before={{ words: left.words, list: was.value }}
        after={{ words: right.words, list: now.value }}
        film={view.film}
        onFilm={(film) => onView({ ...view, film })}
      />
    );
  return (
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
  );
}

type FieldTableProps = { left: Side; right: Side; rows: readonly Difference[] };

function FieldTable({ left, right, rows }: FieldTableProps) {
  const side = (words: string) => <span className={styles.lines}>{words}</span>;
  return (
    <Table
      caption={`${left.words} against ${right.words}`}
      quietCaption
      rows={rows}
      keyOf={(row) => row.field.path}
      marked={(row) => row.change !== ""}
      empty="No difference: both say the same."
      columns={[
        { key: "field", words: "Field", heads: true, cell: (row) => row.field.words },
        { key: "left", words: left.words, cell: (row) => side(row.left) },
        { key: "right", words: right.words, cell: (row) => side(row.right) },
        { key: "change", words: "Difference", cell: (row) => <b>{row.change || "the same"}</b> },
      ]}
    />
  );
}
