// Marks are what happened while the points were drawn: releases, calibrations, new lots.
import { Link } from "wouter";
import { paths } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import type { Box } from "../../kit/Picture.tsx";
import type { ChartMark } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./compare.module.css";
import { showDayOf } from "./view.ts";

const numberPx = 30; // two release numbers nearer than this would run into each other

type MarksOnAxisProps = { marks: readonly ChartMark[]; x: (day: string) => number; box: Box };

/** MarksOnAxis draws releases as dotted lines with their number, calibrations and lots as shapes on the axis. */
export function MarksOnAxis({ marks, x, box }: MarksOnAxisProps) {
  let free = Number.NEGATIVE_INFINITY; // where the next release number may stand
  return marks.map((mark) => {
    const place = x(mark.day);
    if (!(place >= 0 && place <= box.width)) return null;
    const key = `${mark.kind} ${mark.day} ${mark.words}`;
    if (mark.kind !== "release")
      return (
        <path
          key={key}
          className={styles.mark}
          d={
            mark.kind === "lot"
              ? `M${place} ${box.height - 6}l6 6-6 6-6-6Z`
              : `M${place - 5} ${box.height - 5}h10v10h-10Z`
          }
        >
          <title>{mark.words}</title>
        </path>
      );
    const worded = place - free >= numberPx;
    if (worded) free = place;
    return (
      <g key={key}>
        <line x1={place} x2={place} y2={box.height} className={styles.release} />
        {worded && (
          <text x={place} y={-6} textAnchor="middle">
            {String(mark.release)}
          </text>
        )}
      </g>
    );
  });
}

/** MarkList says the same in words, for those who can not point. */
export function MarkList({ marks }: { marks: readonly ChartMark[] }) {
  const { locale } = useUnits();
  if (marks.length === 0) return null;
  return (
    <details className={styles.happened}>
      <summary>What happened in these days ({marks.length})</summary>
      <ul className={styles.releases}>
        {marks.map((mark) => (
          <li key={`${mark.kind} ${mark.day} ${mark.words}`}>
            {showDayOf(mark.day, locale)}:{" "}
            {mark.release > 0n ? (
              <Link href={paths.release(Number(mark.release))}>{mark.words}</Link>
            ) : (
              mark.words
            )}
          </li>
        ))}
      </ul>
    </details>
  );
}
