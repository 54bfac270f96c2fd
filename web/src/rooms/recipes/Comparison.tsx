import { useUnits } from "../../kit/choices.ts";
import { Checkbox } from "../../kit/Field.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { Consequences } from "./Consequences.tsx";
import { currencyIn, evidence, recipeIn } from "./content.ts";
import type { Field } from "./fields.ts";
import styles from "./Pictures.module.css";
import { PriceChanges } from "./PriceChanges.tsx";
import { PriceLadders } from "./PriceLadders.tsx";
import { isChange, priceChanges } from "./priceChanges.ts";
import { RecipePicture } from "./RecipePicture.tsx";
import { TextDifference } from "./TextDifference.tsx";
import { Trials } from "./Trials.tsx";
import { type Difference, differences, inOneSentence, isText } from "./writing.ts";

export type Side = {
  words: string;
  content: Content;
  /** "recipes/x/revisions/3" where it is sealed. */
  revision?: string;
};

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
  // Trials belong to the side that they were made for; they are evidence and no difference.
  const rows = differences(left.content, right.content, units).filter(({ field }) => field.path !== evidence);
  const changed = rows.filter((row) => row.change !== "");
  const texts = changed.filter((row) => isText(row.field) && row.left !== "" && row.right !== "");
  return (
    <>
      <p className={styles.sentence}>{inOneSentence(rows)}</p>
      <Consequences {...{ left, right }} film={view.film} />
      <Pictures {...{ left, right, view, onView }} changed={changed.map((row) => row.field.path)} />
      {recipeIn(right.content) && (
        <Trials trials={right.content.trials} none={`No trial is written down with ${right.words}.`} />
      )}
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
        <FieldTable
          {...{ left, right }}
          rows={(view.all ? rows : changed).filter(({ field }) => !inGrid(field))}
          empty={
            changed.length === 0
              ? "No difference: both say the same."
              : "Nothing differs but the prices below."
          }
        />
        <PriceTables {...{ left, right }} />
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

/** Prices are listed one by one; as one field they would be a wall of numbers. */
const inGrid = ({ path }: Field) => path === "film_prices" || path === "garments";

function PriceTables({ left, right }: { left: Side; right: Side }) {
  const [was, now] = [left.content.content, right.content.content];
  if (was.case !== "priceList" || now.case !== "priceList") return null;
  return (["films", "garments"] as const).map((grid) => {
    const rows = priceChanges(grid, was.value, now.value).filter(isChange);
    return rows.length === 0 ? null : (
      <PriceChanges
        key={grid}
        caption={grid === "films" ? "Film prices that differ" : "Garments that differ"}
        grid={grid}
        rows={rows}
        currency={currencyIn(right.content)}
        sides={[left.words, right.words]}
      />
    );
  });
}

type FieldTableProps = { left: Side; right: Side; rows: readonly Difference[]; empty: string };

function FieldTable({ left, right, rows, empty }: FieldTableProps) {
  const side = (words: string) => <span className={styles.lines}>{words}</span>;
  return (
    <Table
      caption={`${left.words} against ${right.words}`}
      quietCaption
      rows={rows}
      keyOf={(row) => row.field.path}
      marked={(row) => row.change !== ""}
      empty={empty}
      columns={[
        { key: "field", words: "Field", heads: true, cell: (row) => row.field.words },
        { key: "left", words: left.words, cell: (row) => side(row.left) },
        { key: "right", words: right.words, cell: (row) => side(row.right) },
        { key: "change", words: "Difference", cell: (row) => <b>{row.change || "the same"}</b> },
      ]}
    />
  );
}
