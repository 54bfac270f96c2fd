// IntervalRows sets one value with its 95 % limits on each line, against one line for all: branches by title, films,
// revisions by number. Nothing is ranked.
import { scaleLinear } from "d3-scale";
import type { ReactNode } from "react";
import type { Numbers } from "../../kit/csv.ts";
import { Picture } from "../../kit/Picture.tsx";
import styles from "./compare.module.css";
import { Point } from "./Point.tsx";
import type { MarkShape } from "./words.ts";

export type IntervalRow = {
  key: string;
  title: string;
  value: number;
  low: number;
  high: number;
  shape: MarkShape;
};

type IntervalRowsProps = {
  finding: string;
  name: string;
  rows: readonly IntervalRow[];
  /** The value of all together, and its words. */
  centre?: { value: number; words: string };
  /** What the axis measures. */
  axis: string;
  show: (value: number) => string;
  numbers: Numbers;
  limits?: ReactNode;
  below?: ReactNode;
};

const rowPx = 30;
const lettersOf = (width: number) => (width < 560 ? 22 : 44);

const short = (title: string, most: number) =>
  title.length > most ? `${title.slice(0, most - 1).trimEnd()}…` : title;

/** domainOf holds every value and limit with a little room. */
function domainOf(values: readonly number[]): [number, number] {
  const found = values.filter(Number.isFinite);
  if (found.length === 0) return [0, 1];
  const [low, high] = [Math.min(...found), Math.max(...found)];
  const room = (high - low || Math.abs(high) || 1) * 0.06;
  return [low >= 0 ? Math.max(0, low - room) : low - room, high + room];
}

export function IntervalRows({
  finding,
  name,
  rows,
  centre,
  axis,
  show,
  numbers,
  limits,
  below,
}: IntervalRowsProps) {
  const domain = domainOf([
    ...rows.flatMap((row) => [row.value, row.low, row.high]),
    ...(centre ? [centre.value] : []),
  ]);
  return (
    <Picture
      finding={finding}
      name={name}
      numbers={numbers}
      limits={limits}
      below={below}
      height={() => rows.length * rowPx + 64}
      labels={(width) => ({ left: rows.map((row) => short(row.title, lettersOf(width))) })}
    >
      {(box) => {
        const x = scaleLinear(domain, [0, box.width]).nice();
        const letters = lettersOf(box.margin.left + box.width + box.margin.right);
        const middle = (at: number) => at * rowPx + rowPx / 2;
        return (
          <>
            {x.ticks(Math.max(2, Math.floor(box.width / 76))).map((tick) => (
              <g key={tick}>
                <line x1={x(tick)} x2={x(tick)} y2={box.height} data-line="grid" />
                <text
                  x={x(tick)}
                  y={box.height + 18}
                  textAnchor={x(tick) > box.width - 16 ? "end" : "middle"}
                  data-voice="second"
                >
                  {show(tick)}
                </text>
              </g>
            ))}
            <text x={box.width} y={box.height + 38} textAnchor="end" data-voice="second">
              {axis}
            </text>
            {centre && (
              <>
                <line x1={x(centre.value)} x2={x(centre.value)} y2={box.height} className={styles.overall} />
                <text
                  x={x(centre.value)}
                  y={-6}
                  textAnchor={x(centre.value) > box.width / 2 ? "end" : "start"}
                >
                  {centre.words}
                </text>
              </>
            )}
            {rows.map((row, at) => (
              <g key={row.key}>
                <text x={-8} y={middle(at) + 5} textAnchor="end">
                  {short(row.title, letters)}
                </text>
                <line
                  x1={x(row.low)}
                  x2={x(row.high)}
                  y1={middle(at)}
                  y2={middle(at)}
                  className={styles.whisker}
                />
                <Point x={x(row.value)} y={middle(at)} shape={row.shape} />
              </g>
            ))}
          </>
        );
      }}
    </Picture>
  );
}
