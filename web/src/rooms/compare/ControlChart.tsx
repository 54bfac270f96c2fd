// ControlChart shows a branch or a recipe period by period with its limits, and what happened on the same axis, so that a
// change of rate and a change of settings, machine or lot are seen together.
import { scaleLinear, scaleUtc } from "d3-scale";
import { line } from "d3-shape";
import { useUnits } from "../../kit/choices.ts";
import { type Box, Picture } from "../../kit/Picture.tsx";
import {
  ChartKind,
  type GetChartResponse,
  Metric,
  type SeriesPoint,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { showDay } from "../../units/durations.ts";
import { type Charting, chartings } from "./charting.ts";
import styles from "./compare.module.css";
import { MarkList, MarksOnAxis } from "./Marks.tsx";
import { Point } from "./Point.tsx";
import { instantOf, sayDays } from "./view.ts";

type ControlChartProps = {
  chart: GetChartResponse;
  charting: Charting;
  span: { fromDay: string; toDay: string };
  name: string;
};

const mainPx = 280;
const secondPx = 120;

export function ControlChart({ chart, charting, span, name }: ControlChartProps) {
  const units = useUnits();
  const { points, marks } = chart;
  const sum = chart.kind === ChartKind.CUSUM;
  const ranges = chart.kind === ChartKind.XMR;
  const share = chartings[charting].metric === Metric.YIELD || !(sum || chart.kind === ChartKind.U);
  const show = (value: number) =>
    share ? `${units.number(value * 100, 1)} %` : units.number(value, chart.kind === ChartKind.U ? 2 : 1);
  const finite = (values: readonly number[]) => values.filter(Number.isFinite);
  const highest = Math.max(1e-9, ...finite(points.flatMap(({ value, high }) => [value, high])));
  const lowest = sum
    ? Math.min(0, ...finite(points.map(({ second }) => -second)))
    : Math.min(...finite(points.flatMap(({ value, low }) => [value, low])), chart.centre);
  // A rate of reprints starts at nothing; a yield would be a line at the top if it did.
  const domain: [number, number] = [chartings[charting].metric === Metric.YIELD || sum ? lowest : 0, highest];
  const yTicks = scaleLinear(domain, [1, 0]).nice().ticks(4);
  const secondMost = Math.max(1e-9, chart.secondHigh, ...points.map(({ second }) => second));
  return (
    <Picture
      finding={sayDays(chart.finding, units.locale)}
      name={name}
      height={() => mainPx + (ranges ? secondPx : 0)}
      labels={{ left: [...yTicks.map(show), show(secondMost)] }}
      limits="What stands on the axis at the same time is no proof that it was why."
      numbers={{
        columns: [
          { words: "From" },
          { words: "Pieces" },
          { words: "Reprints" },
          { words: "Film drawn (mm²)" },
          { words: chartings[charting].words, digits: 4 },
          { words: "Centre", digits: 4 },
          { words: "Lower limit", digits: 4 },
          { words: "Upper limit", digits: 4 },
          { words: sum ? "Lower sum" : "Moving range", digits: 4 },
          { words: "Outside" },
        ],
        rows: points.map((p) => [
          p.day,
          p.piecesCount,
          p.reprintsCount,
          p.drawnAreaMm2,
          p.value,
          p.centre,
          p.low,
          p.high,
          sum || ranges ? p.second : null,
          p.outside || p.secondOutside ? "outside" : "inside",
        ]),
      }}
      below={
        <>
          <p className={styles.legend}>
            <span>{sum ? "▲▼ over the threshold" : "▲▼ outside the limits"}</span>
            <span>● inside</span>
            {marks.some(({ kind }) => kind === "release") && <span>dotted line: a release</span>}
            {marks.some(({ kind }) => kind === "calibration") && <span>■ a calibration</span>}
            {marks.some(({ kind }) => kind === "lot") && <span>◆ a new lot</span>}
          </p>
          <MarkList marks={marks} />
        </>
      }
    >
      {(box) => {
        const tall = box.height - (ranges ? secondPx : 0);
        const x = scaleUtc([instantOf(span.fromDay), instantOf(span.toDay)], [0, box.width]);
        const y = scaleLinear(domain, [tall, 0]).nice();
        const at = (point: SeriesPoint) => x(instantOf(point.day));
        const curve = (of: (point: SeriesPoint) => number) =>
          line<SeriesPoint>()
            .defined((point) => Number.isFinite(of(point)))
            .x(at)
            .y((point) => y(of(point)))([...points]) ?? "";
        return (
          <>
            {yTicks.map((tick) => (
              <g key={tick}>
                <line x2={box.width} y1={y(tick)} y2={y(tick)} data-line="grid" />
                <text x={-8} y={y(tick) + 5} textAnchor="end" data-voice="second">
                  {show(tick)}
                </text>
              </g>
            ))}
            <line x2={box.width} y1={box.height} y2={box.height} data-line="axis" />
            {apart(x.ticks(Math.max(2, Math.floor(box.width / 130))), x).map((tick) => (
              <text
                key={tick.getTime()}
                x={x(tick)}
                y={box.height + 18}
                textAnchor={x(tick) < 40 ? "start" : x(tick) > box.width - 40 ? "end" : "middle"}
                data-voice="second"
              >
                {showDay(tick.getTime(), units.locale, "UTC")}
              </text>
            ))}
            <MarksOnAxis marks={marks} x={(day) => x(instantOf(day))} box={box} />
            <path className={styles.limit998} d={curve(({ high }) => high)} />
            {sum ? (
              <path className={styles.limit998} d={curve(({ high }) => -high)} />
            ) : (
              <path className={styles.limit998} d={curve(({ low }) => low)} />
            )}
            <path className={styles.centre} d={curve(({ centre }) => centre)} />
            <path className={styles.rate} d={curve(({ value }) => value)} />
            {sum && <path className={styles.rate} d={curve(({ second }) => -second)} />}
            {points.map((point) => (
              <Point
                key={point.day}
                x={at(point)}
                y={y(point.value)}
                shape={point.outside ? (point.value > point.high ? "up" : "down") : "full"}
              />
            ))}
            {sum &&
              points
                .filter(({ secondOutside }) => secondOutside)
                .map((point) => (
                  <Point key={`low ${point.day}`} x={at(point)} y={y(-point.second)} shape="down" />
                ))}
            {ranges && (
              <Ranges
                points={points}
                most={secondMost}
                high={chart.secondHigh}
                at={at}
                box={box}
                show={show}
              />
            )}
          </>
        );
      }}
    </Picture>
  );
}

const dayPx = 96; // two days written nearer than this would run into each other

/** apart keeps the ticks whose words have room. */
function apart(ticks: readonly Date[], x: (tick: Date) => number): Date[] {
  const kept: Date[] = [];
  for (const tick of ticks) {
    const before = kept.at(-1);
    if (!before || x(tick) - x(before) >= dayPx) kept.push(tick);
  }
  return kept;
}

type RangesProps = {
  points: readonly SeriesPoint[];
  most: number;
  high: number;
  at: (point: SeriesPoint) => number;
  box: Box;
  show: (value: number) => string;
};

/** Ranges draws how far each value lies from the one before, under the values. */
function Ranges({ points, most, high, at, box, show }: RangesProps) {
  const y = scaleLinear([0, most], [box.height, box.height - secondPx + 24]);
  const path = line<SeriesPoint>()
    .x(at)
    .y((point) => y(point.second))([...points.slice(1)]);
  return (
    <>
      <text x={0} y={box.height - secondPx + 16} data-voice="second">
        From one to the next
      </text>
      <line className={styles.limit998} x2={box.width} y1={y(high)} y2={y(high)} />
      <text x={-8} y={y(high) + 5} textAnchor="end" data-voice="second">
        {show(high)}
      </text>
      <path className={styles.rate} d={path ?? ""} />
      {points.slice(1).map((point) => (
        <Point
          key={point.day}
          x={at(point)}
          y={y(point.second)}
          shape={point.secondOutside ? "up" : "full"}
        />
      ))}
    </>
  );
}
