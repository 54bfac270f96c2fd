// Multiples draws one small chart for each branch, all on the same two axes, by title: what differs is seen, not ranked.
import { scaleLinear, scaleUtc } from "d3-scale";
import { line } from "d3-shape";
import { Link } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type {
  BranchChart,
  ListChartsResponse,
  SeriesPoint,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./compare.module.css";
import { Point } from "./Point.tsx";
import { instantOf, showDayOf } from "./view.ts";

type MultiplesProps = {
  answer: ListChartsResponse;
  name: string;
  measure: string;
  /** Days and filters that a branch's own page keeps. */
  query: Record<string, string>;
};

const leastPx = 190; // a narrower chart shows nothing
const tallPx = 120;
const headPx = 22;

export function Multiples({ answer, name, measure, query }: MultiplesProps) {
  const units = useUnits();
  const percent = (value: number) => `${units.number(value * 100, 1)} %`;
  const columns = (width: number) => Math.max(1, Math.floor(width / leastPx));
  const day = (text: string) => showDayOf(text, units.locale);
  const odd = answer.charts.filter((chart) => chart.outsideCount > 0);
  return (
    <Picture
      finding={answer.finding}
      name={name}
      height={(width) => Math.ceil(answer.charts.length / columns(width)) * tallPx + 32}
      labels={{ top: false, bottom: false }}
      limits={`Every chart has the same axes: ${day(answer.firstDay)} to ${day(answer.lastDay)}, ${percent(answer.lowest)} to ${percent(answer.highest)}.`}
      numbers={{
        columns: [
          { words: "Branch" },
          { words: "From" },
          { words: "Pieces" },
          { words: "Reprints" },
          { words: measure, digits: 4 },
          { words: "Lower limit", digits: 4 },
          { words: "Upper limit", digits: 4 },
          { words: "Outside" },
        ],
        rows: answer.charts.flatMap((chart) =>
          chart.points.map((p) => [
            chart.title,
            p.day,
            p.piecesCount,
            p.reprintsCount,
            p.value,
            p.low,
            p.high,
            p.outside ? "outside" : "inside",
          ]),
        ),
      }}
      below={
        <>
          <p className={styles.legend}>
            <span>▲▼ outside its limits</span>
            <span>thin lines: limits and centre</span>
          </p>
          {odd.length > 0 && (
            <p>
              With a period outside its limits:{" "}
              {odd.map((chart, at) => (
                <span key={chart.branch || chart.title}>
                  {at > 0 && ", "}
                  <Link href={withQuery(paths.branch(lastPart(chart.branch)), query)}>{chart.title}</Link> (
                  {chart.outsideCount})
                </span>
              ))}
              .
            </p>
          )}
        </>
      }
    >
      {(box) => {
        const across = columns(box.width);
        const wide = box.width / across;
        return answer.charts.map((chart, at) => (
          <g
            key={chart.branch || chart.title}
            transform={`translate(${(at % across) * wide} ${Math.floor(at / across) * tallPx})`}
          >
            <Small chart={chart} answer={answer} width={wide - 16} />
          </g>
        ));
      }}
    </Picture>
  );
}

function Small({ chart, answer, width }: { chart: BranchChart; answer: ListChartsResponse; width: number }) {
  const x = scaleUtc([instantOf(answer.firstDay), instantOf(answer.lastDay)], [4, width - 4]);
  const y = scaleLinear([answer.lowest, answer.highest], [tallPx - 12, headPx + 4]);
  const curve = (of: (point: SeriesPoint) => number) =>
    line<SeriesPoint>()
      .defined((point) => Number.isFinite(of(point)))
      .x((point) => x(instantOf(point.day)))
      .y((point) => y(Math.min(answer.highest, Math.max(answer.lowest, of(point)))))([...chart.points]) ?? "";
  return (
    <>
      <text y={14}>{chart.title}</text>
      <line x2={width} y1={tallPx - 12} y2={tallPx - 12} data-line="axis" />
      {chart.silent ? (
        <text y={tallPx / 2 + 8} data-voice="second">
          sent nothing
        </text>
      ) : (
        <>
          <path className={styles.limit95} d={curve(({ high }) => high)} />
          <path className={styles.limit95} d={curve(({ low }) => low)} />
          <path className={styles.centre} d={curve(({ centre }) => centre)} />
          <path className={styles.line} d={curve(({ value }) => value)} />
          {chart.points
            .filter(({ outside }) => outside)
            .map((point) => (
              <Point
                key={point.day}
                x={x(instantOf(point.day))}
                y={y(point.value)}
                shape={point.value > point.high ? "up" : "down"}
              />
            ))}
        </>
      )}
    </>
  );
}
