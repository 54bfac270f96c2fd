import { Link } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import { Remnant } from "../../kit/drawings/Remnant.tsx";
import { Roll as RollDrawing } from "../../kit/drawings/Roll.tsx";
import type { Pace, Roll } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { millimetres } from "../../units/quantities.ts";
import { type FilmShelf, fullMm, paceOf } from "./shelves.ts";
import styles from "./stock.module.css";

type ShelfProps = { shelf: FilmShelf; paces: readonly Pace[]; chosen: string };

/** Shelf draws the rolls and remnants of one film, each as full as it is. */
export function Shelf({ shelf, paces, chosen }: ShelfProps) {
  const units = useUnits();
  const full = fullMm(shelf.rolls);
  return (
    <section className={styles.shelf} aria-label={shelf.title}>
      <header className={styles.head}>
        <h3>{shelf.title}</h3>
        <p>{units.show("rollLength", millimetres(shelf.leftMm))}</p>
      </header>
      <ul className={styles.rolls}>
        {shelf.rolls.map((roll) => (
          <li key={roll.name}>
            <Link
              href={withQuery(paths.stock, { roll: lastPart(roll.name) })}
              className={styles.roll}
              aria-current={roll.name === chosen ? "true" : undefined}
            >
              {roll.remnant ? (
                <Remnant width={Number(roll.widthMm)} length={Number(roll.lengthMm)} />
              ) : (
                <RollDrawing left={Number(roll.lengthMm) / full} />
              )}
              <b>{roll.colour}</b>
              <b>{units.show("rollLength", millimetres(roll.lengthMm))}</b>
              <span>
                {paceOf(roll, paces)?.low && <strong>runs low · </strong>}
                {whereOf(roll)}
              </span>
            </Link>
          </li>
        ))}
      </ul>
    </section>
  );
}

const whereOf = (roll: Roll): string =>
  [roll.remnant && "remnant", roll.lot && `lot ${roll.lot}`, roll.place].filter(Boolean).join(" · ") ||
  "no place noted";
