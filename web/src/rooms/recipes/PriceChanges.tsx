import { useUnits } from "../../kit/choices.ts";
import { Table } from "../../kit/Table.tsx";
import { showMoney } from "../../units/money.ts";
import { millimetres } from "../../units/quantities.ts";
import type { PriceChange } from "./priceChanges.ts";
import type { Grid } from "./priceRows.ts";

type PriceChangesProps = {
  caption: string;
  grid: Grid;
  rows: readonly PriceChange[];
  currency: string;
  /** Names of both sides. */
  sides?: readonly [string, string];
};

/** PriceChanges lists prices one by one: before, after, and by how much they differ. */
export function PriceChanges({ caption, grid, rows, currency, sides = ["Now", "Then"] }: PriceChangesProps) {
  const units = useUnits();
  const money = (minor: bigint) => showMoney({ minor, currency }, units.locale);
  const side = (says: PriceChange["before"]) =>
    says === null ? "–" : `${money(says.price)}${says.cost > 0n ? ` (costs ${money(says.cost)})` : ""}`;
  const change = ({ before, after }: PriceChange) => {
    if (!before) return "added";
    if (!after) return "taken out";
    const by = after.price - before.price;
    return by === 0n ? "cost changed" : `${by > 0n ? "+" : ""}${money(by)}`;
  };
  return (
    <Table
      caption={caption}
      rows={rows}
      keyOf={(row) => `${row.code} ${row.fromMm}`}
      columns={[
        { key: "what", words: grid === "films" ? "Film" : "Garment", heads: true, cell: (row) => row.title },
        ...(grid === "films"
          ? [
              {
                key: "from",
                words: "From length",
                figure: true,
                cell: (row: PriceChange) => units.show("rollLength", millimetres(row.fromMm)),
              },
            ]
          : []),
        { key: "before", words: sides[0], figure: true, cell: (row) => side(row.before) },
        { key: "after", words: sides[1], figure: true, cell: (row) => side(row.after) },
        { key: "change", words: "Difference", figure: true, cell: (row) => <b>{change(row)}</b> },
      ]}
    />
  );
}
