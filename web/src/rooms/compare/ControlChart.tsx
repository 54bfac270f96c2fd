// ControlChart shows the rate week by week with its limits, and the releases on the same axis, so that a change of rate
// and a change of settings are seen together. Fewer than ten points carry no limits: they would mean nothing.
import { scaleLinear, scaleUtc } from "d3-scale";
import { line } from "d3-shape";
import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { ChartPoint, ReleaseMark } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { showDay } from "../../units/durations.ts";
import styles from "./compare.module.css";
import { Point } from "./Point.tsx";
import { ReleaseList, releaseInstant } from "./ReleaseList.tsx";
import { instantOf, showDayOf } from "./view.ts";

type ControlChartProps = {
  points: readonly ChartPoint[];
  releases: readonly ReleaseMark[];
  span: { fromDay: string; toDay: string };
  name: string;
};

const leastForLimits = 10;
const releaseWordsPx = 30; // two release numbers nearer than this would run into each other

/** findingOf says whether a week stands out, in one sentence. */
export function findingOf(points: readonly ChartPoint[], locale: string): string {
  if (points.length < leastForLimits)
    return `Reprints per piece, weeks with work: ${points.length}, too few for limits`;
  const outside = points.filter((point) => point.outside);
  if (outside.length === 0) return `None of ${points.length} weeks lies outside its limits`;
  return outside.length === 1
    ? `The week of ${showDayOf(outside[0]?.day ?? "", locale)} lies outside its limits`
    : `${outside.length} of ${points.length} weeks lie outside their limits`;
}

export function ControlChart({ points, releases, span, name }: ControlChartProps) {
  const units = useUnits();
  const withLimits = points.length >= leastForLimits;
  const most = Math.max(0.01, ...points.map((point) => Math.max(point.rate, withLimits ? point.high : 0)));
  const yTicks = scaleLinear([0, most], [1, 0]).nice().ticks(4);
  const percent = (rate: number) => `${units.number(rate * 100, 1)} %`;
  const day = (instant: number) => showDay(instant, units.locale, "UTC");
  const dated = releases.filter((release) => Number.isFinite(releaseInstant(release)));
  return (
    <Picture
      finding={findingOf(points, units.locale)}
      name={name}
      height={() => 300}
      labels={{ left: yTicks.map(percent) }}
      limits="Limits widen in weeks with little work. A release on the axis is no proof that it was the cause."
      numbers={{
        columns: [
          { words: "Week from" },
          { words: "Pieces" },
          { words: "Reprints" },
          { words: "Rate", digits: 4 },
          { words: "Lower limit", digits: 4 },
          { words: "Upper limit", digits: 4 },
          { words: "Outside" },
        ],
        rows: points.map((point) => [
          point.day,
          point.piecesCount,
          point.reprintsCount,
          point.rate,
          withLimits ? point.low : null,
          withLimits ? point.high : null,
          withLimits ? (point.outside ? "outside" : "inside") : "no limits",
        ]),
      }}
      below={
        <>
          <p className={styles.legend}>
            <span>▲▼ outside its limits</span>
            <span>● inside</span>
            {dated.length > 0 && <span>dotted line: a release came into force</span>}
          </p>
          {dated.length > 0 && <ReleaseList releases={dated} />}
        </>
      }
    >
      {(box) => {
        const x = scaleUtc([instantOf(span.fromDay), instantOf(span.toDay)], [0, box.width]);
        const y = scaleLinear([0, most], [box.height, 0]).nice();
        const at = (point: ChartPoint) => x(instantOf(point.day));
        const curve = (of: (point: ChartPoint) => number) =>
          line<ChartPoint>()
            .x(at)
            .y((point) => y(of(point)))([...points]) ?? "";
        let free = Number.NEGATIVE_INFINITY; // where the next release number may stand
        return (
          <>
            {yTicks.map((tick) => (
              <g key={tick}>
                <line x2={box.width} y1={y(tick)} y2={y(tick)} data-line="grid" />
                <text x={-8} y={y(tick) + 5} textAnchor="end" data-voice="second">
                  {percent(tick)}
                </text>
              </g>
            ))}
            <line x2={box.width} y1={box.height} y2={box.height} data-line="axis" />
            {x.ticks(Math.max(2, Math.floor(box.width / 130))).map((tick) => (
              <text
                key={tick.getTime()}
                x={x(tick)}
                y={box.height + 18}
                textAnchor={x(tick) < 40 ? "start" : x(tick) > box.width - 40 ? "end" : "middle"}
                data-voice="second"
              >
                {day(tick.getTime())}
              </text>
            ))}
            {dated.map((release) => {
              const place = x(releaseInstant(release));
              if (place < 0 || place > box.width) return null;
              const worded = place - free >= releaseWordsPx;
              if (worded) free = place;
              return (
                <g key={String(release.release)}>
                  <line x1={place} x2={place} y2={box.height} className={styles.release} />
                  {worded && (
                    <text x={place} y={-6} textAnchor="middle">
                      {units.count(release.release)}
                    </text>
                  )}
                </g>
              );
            })}
            {withLimits && (
              <>
                <path className={styles.limit998} d={curve((point) => point.high)} />
                <path className={styles.limit998} d={curve((point) => point.low)} />
                <path className={styles.rate} d={curve((point) => point.rate)} />
              </>
            )}
            {points.map((point) => (
              <Point
                key={point.day}
                x={at(point)}
                y={y(point.rate)}
                shape={withLimits && point.outside ? (point.rate > point.high ? "up" : "down") : "full"}
              />
            ))}
          </>
        );
      }}
    </Picture>
  );
}
