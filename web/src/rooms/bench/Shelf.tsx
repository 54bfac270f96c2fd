import { Link } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import { Remnant } from "../../kit/drawings/Remnant.tsx";
import { Roll as RollDrawing } from "../../kit/drawings/Roll.tsx";
import type { Roll } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { millimetres } from "../../units/quantities.ts";
import { type FilmShelf, fullMm } from "./shelves.ts";
import styles from "./stock.module.css";

/** Shelf draws the rolls and remnants of one film in one colour, each as full as it is. */
export function Shelf({ shelf, chosen }: { shelf: FilmShelf; chosen: string }) {
  const units = useUnits();
  const full = fullMm(shelf.rolls);
  return (
    <section className={styles.shelf} aria-label={shelf.title}>
      <header className={styles.head}>
        <h3>{shelf.title}</h3>
        <p>
          <b>{units.show("rollLength", millimetres(shelf.leftMm))}</b>
          {shelf.pace?.known && !shelf.pace.low && <span> · {shelf.pace.words}</span>}
        </p>
      </header>
      <ul className={styles.rolls}>
        {shelf.rolls.map((roll) => (
          <li key={roll.name}>
            <Link
              href={withQuery(paths.stock, { roll: lastPart(roll.name) })}
              className={styles.roll}
              aria-current={roll.name === chosen ? "true" : undefined}
            >
              <RollPicture roll={roll} full={full} />
              <b>{units.show("rollLength", millimetres(roll.lengthMm))}</b>
              <span>{whereOf(roll)}</span>
            </Link>
          </li>
        ))}
      </ul>
    </section>
  );
}

function RollPicture({ roll, full }: { roll: Roll; full: number }) {
  const left = Number(roll.lengthMm);
  if (!roll.remnant) return <RollDrawing left={left / full} />;
  return <Remnant width={Number(roll.widthMm)} length={left} />;
}

const whereOf = (roll: Roll): string =>
  [roll.remnant ? "Remnant" : "", roll.lot && `lot ${roll.lot}`, roll.place].filter(Boolean).join(" · ") ||
  "No place";
