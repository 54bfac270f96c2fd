// PointWalk lists the points of a picture as links in name order: one stop of the Tab key, arrows walk, Enter opens.
import { type KeyboardEvent, useRef } from "react";
import { Link } from "wouter";
import { Mark, type Standing } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./compare.module.css";
import { markWords, signOf, titleOf } from "./words.ts";

type PointWalkProps = {
  standings: readonly Standing[];
  chosen: Standing | null;
  onChoose: (standing: Standing) => void;
  toBranch: (standing: Standing) => string;
  /** What is read out for one branch. */
  words: (standing: Standing) => string;
};

export function PointWalk({ standings, chosen, onChoose, toBranch, words }: PointWalkProps) {
  const list = useRef<HTMLUListElement>(null);
  const named = standings.filter((standing) => standing.branch !== "");
  const stop = Math.max(0, chosen ? named.indexOf(chosen) : 0);

  function onKey(event: KeyboardEvent) {
    const last = named.length - 1;
    const to = {
      ArrowRight: Math.min(last, stop + 1),
      ArrowDown: Math.min(last, stop + 1),
      ArrowLeft: Math.max(0, stop - 1),
      ArrowUp: Math.max(0, stop - 1),
      Home: 0,
      End: last,
    }[event.key];
    if (to === undefined) return;
    event.preventDefault();
    list.current?.querySelectorAll("a")[to]?.focus();
  }
  return (
    <>
      <p className={styles.legend}>
        <span>▲▼ outside the 99.8 % limits (solid line)</span>
        <span>● inside them; the 95 % limits are dashed</span>
        <span>○ too few to tell</span>
      </p>
      <p className={styles.readout} aria-live="polite">
        {chosen ? (
          <>
            <strong>{titleOf(chosen)}</strong>, {markWords[chosen.mark]}: {words(chosen)}.
            {chosen.mark === Mark.LOW_95 || chosen.mark === Mark.LOW_998
              ? " Check that everything is recorded."
              : ""}
          </>
        ) : (
          "Point at a branch, or walk through them with the arrow keys. Enter opens it."
        )}
      </p>
      {named.length > 0 && (
        <ul ref={list} className={styles.walk} aria-label="Branches by name" onKeyDown={onKey}>
          {named.map((standing, at) => (
            <li key={standing.branch}>
              <Link
                href={toBranch(standing)}
                tabIndex={at === stop ? 0 : -1}
                onFocus={() => onChoose(standing)}
              >
                <span aria-hidden="true">{signOf(standing.mark)} </span>
                {titleOf(standing)}
              </Link>
            </li>
          ))}
        </ul>
      )}
    </>
  );
}
