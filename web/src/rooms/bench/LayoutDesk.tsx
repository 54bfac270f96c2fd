// LayoutDesk is one film of a plan while it is being planned: the roll, the search for a tighter layout, and what is saved.
import { useState } from "react";
import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { type Layout, SearchEffort } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { showMoney } from "../../units/money.ts";
import { heldOf, locked, moved, turned } from "./holding.ts";
import { RollDesk } from "./RollDesk.tsx";
import { wholeMm } from "./RollPicture.tsx";
import styles from "./rollDesk.module.css";
import type { Bench } from "./useBench.ts";
import { searchesTaken } from "./useImproving.ts";

type LayoutDeskProps = {
  layout: Layout;
  index: number;
  currency: string;
  bench: Bench;
};

export function LayoutDesk({ layout, index, currency, bench }: LayoutDeskProps) {
  const units = useUnits();
  const [chosen, setChosen] = useState<number | null>(null);
  const { improving } = bench;
  const searching = improving.index === index;
  const length = (um: bigint) => units.show("rollLength", wholeMm(um));
  const held = () => heldOf(layout);
  // What is shorter by less than a centimetre is said in millimetres, not as "0.00 m less".
  const savedWords =
    layout.savedUm < 10_000n ? units.show("length", wholeMm(layout.savedUm)) : length(layout.savedUm);
  const saved =
    layout.savedUm >= 1_000n
      ? `${savedWords} less than plain rows${layout.savedMinor > 0n && currency ? `, ${showMoney({ minor: layout.savedMinor, currency }, units.locale)} less` : ""}`
      : layout.rowsLengthUm > 0n
        ? "As much as plain rows"
        : "";
  return (
    <div className={styles.desk}>
      <p>
        <strong>
          {layout.piecesCount === 1n ? "1 design takes" : `${layout.piecesCount} designs take`}{" "}
          {length(layout.lengthUm)} of {layout.filmTitle}, {layout.colour}.
        </strong>{" "}
        {saved && `${saved}. `}
        No layout can be shorter than {length(layout.boundUm)}.
      </p>
      <div className={styles.search} data-screen-only>
        {searching ? (
          <>
            <Button onClick={bench.stop}>Stop and keep this</Button>
            <progress
              className={styles.progress}
              value={improving.done}
              aria-label="Share of the search done"
            />
          </>
        ) : (
          <Button
            {...(improving.index !== null ? { because: "Another film is being searched for." } : {})}
            onClick={() => bench.search(index, SearchEffort.LONG)}
          >
            Search for a tighter layout
          </Button>
        )}
        {bench.canUndo && <Button onClick={bench.undo}>Undo</Button>}
        {bench.canRedo && <Button onClick={bench.redo}>Redo</Button>}
      </div>
      {improving.fault &&
        !searching &&
        (improving.fault.reason === searchesTaken ? (
          <Notice kind="info" title="The server searches for others just now">
            <p>Try again in a moment; the layout shown is good to cut as it is.</p>
          </Notice>
        ) : (
          <Failure fault={improving.fault} title="The search ended" />
        ))}
      <RollDesk
        layout={layout}
        chosen={chosen !== null && chosen < layout.places.length ? chosen : null}
        wrong={bench.wrong(index)}
        movable={!searching}
        onChoose={setChosen}
        onMove={(at, across, along) => bench.hold(index, moved(held(), at, across, along))}
        onTurn={(at) => bench.hold(index, turned(held(), at))}
        onLock={(at) => bench.hold(index, locked(held(), at))}
      />
    </div>
  );
}
