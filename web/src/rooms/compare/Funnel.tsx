// Funnel sets observed over expected against how much is expected: small branches may lie far from 1 by chance, large
// ones may not. The curves are the server's exact limits.
import { scaleLinear } from "d3-scale";
import { line } from "d3-shape";
import { useState } from "react";
import { useLocation } from "wouter";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useUnits } from "../../kit/choices.ts";
import { type Box, Picture } from "../../kit/Picture.tsx";
import {
  type CompareBranchesResponse,
  type LimitPoint,
  Mark,
  type Standing,
} from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./compare.module.css";
import { Point } from "./Point.tsx";
import { PointWalk } from "./PointWalk.tsx";
import { standingNumbers } from "./standingNumbers.ts";
import { shapeOf, titleOf } from "./words.ts";

type FunnelProps = {
  answer: CompareBranchesResponse;
  /** Days and filters that the branch's own page keeps. */
  query: Record<string, string>;
  name: string;
};

const leastTop = 2; // the vertical axis reaches at least twice the expected
const nearPx = 24; // a pointer this near takes a point (WCAG 2.2, 2.5.8: target size)

/** Funnel draws every branch that sent something. */
export function Funnel({ answer, query, name }: FunnelProps) {
  const units = useUnits();
  const [, go] = useLocation();
  const [chosen, setChosen] = useState<Standing | null>(null);
  const drawn = answer.standings.filter((standing) => standing.mark !== Mark.SILENT);
  const most = Math.max(leastTop, ...drawn.map((standing) => standing.ratio * 1.15));
  const largest = Math.max(
    1,
    ...drawn.map((standing) => standing.expected * 1.08),
    ...answer.limits.map((limit) => limit.size),
  );
  const yTicks = scaleLinear([0, most], [1, 0]).ticks(5);
  const showRatio = (ratio: number) => units.number(ratio, 1);
  const toBranch = (standing: Standing) => withQuery(paths.branch(lastPart(standing.branch)), query);

  return (
    <Picture
      finding={answer.finding}
      name={name}
      numbers={standingNumbers(answer.standings)}
      limits={answer.caveat}
      height={(width) => Math.min(520, Math.max(300, width * 0.55))}
      labels={{ left: yTicks.map(showRatio) }}
      below={
        <PointWalk
          standings={drawn}
          chosen={chosen}
          onChoose={setChosen}
          toBranch={toBranch}
          words={(standing) =>
            `${units.count(standing.reprintsCount)} reprints in ${units.count(standing.piecesCount)} pieces, ` +
            `${units.number(standing.expected, 1)} expected: ${units.number(standing.ratio, 2)} times the expected ` +
            `(95 % limits ${units.number(standing.ratioLow, 2)} to ${units.number(standing.ratioHigh, 2)})`
          }
        />
      }
    >
      {(box) => {
        const x = scaleLinear([0, largest], [0, box.width]);
        const y = scaleLinear([0, most], [box.height, 0]);
        return (
          <>
            <Axes box={box} yTicks={yTicks} y={y} showRatio={showRatio} />
            {x.ticks(Math.max(2, Math.floor(box.width / 110))).map((tick) => (
              <text
                key={tick}
                x={x(tick)}
                y={box.height + 18}
                textAnchor={tick === 0 ? "start" : "middle"}
                data-voice="second"
              >
                {units.count(tick)}
              </text>
            ))}
            <Limits limits={answer.limits} x={x} y={y} top={most} />
            {drawn.map((standing, at) => (
              <Point
                key={standing.branch || at}
                x={x(standing.expected)}
                y={y(standing.ratio)}
                shape={shapeOf(standing.mark)}
              />
            ))}
            {drawn
              .filter((standing) => standing === chosen || ["up", "down"].includes(shapeOf(standing.mark)))
              .map((standing, at) => {
                const right = x(standing.expected) > box.width * 0.7;
                return (
                  <text
                    key={standing.branch || at}
                    x={x(standing.expected) + (right ? -12 : 12)}
                    y={y(standing.ratio) + 5}
                    textAnchor={right ? "end" : "start"}
                    className={styles.named}
                    fontWeight={standing === chosen ? 650 : undefined}
                  >
                    {titleOf(standing)}
                  </text>
                );
              })}
            {chosen && drawn.includes(chosen) && (
              <circle className={styles.ring} cx={x(chosen.expected)} cy={y(chosen.ratio)} r={12} />
            )}
            {/* biome-ignore lint/a11y/noStaticElementInteractions: the same branches stand below as links for the keyboard */}
            <rect
              className={styles.hit}
              width={box.width}
              height={box.height}
              onPointerMove={(event) => setChosen(nearest(event, drawn, x, y) ?? chosen)}
              onClick={(event) => {
                const standing = nearest(event, drawn, x, y);
                if (standing?.branch) go(toBranch(standing));
              }}
            />
          </>
        );
      }}
    </Picture>
  );
}

type Scale = ReturnType<typeof scaleLinear<number, number>>;

function nearest(
  event: { clientX: number; clientY: number; currentTarget: SVGRectElement },
  standings: readonly Standing[],
  x: Scale,
  y: Scale,
): Standing | undefined {
  const frame = event.currentTarget.getBoundingClientRect();
  const away = (standing: Standing) =>
    Math.hypot(
      event.clientX - frame.left - x(standing.expected),
      event.clientY - frame.top - y(standing.ratio),
    );
  const [best] = standings.toSorted((a, b) => away(a) - away(b));
  return best && away(best) <= nearPx ? best : undefined;
}

type AxesProps = {
  box: Box;
  yTicks: readonly number[];
  y: Scale;
  showRatio: (ratio: number) => string;
};

function Axes({ box, yTicks, y, showRatio }: AxesProps) {
  return (
    <>
      <text x={-box.margin.left} y={-6} data-voice="second">
        Reprints ÷ expected
      </text>
      {yTicks.map((tick) => (
        <g key={tick}>
          <line x2={box.width} y1={y(tick)} y2={y(tick)} data-line="grid" />
          <text x={-8} y={y(tick) + 5} textAnchor="end" data-voice="second">
            {showRatio(tick)}
          </text>
        </g>
      ))}
      <line x2={box.width} y1={y(1)} y2={y(1)} className={styles.centre} />
      <line x2={box.width} y1={box.height} y2={box.height} data-line="axis" />
      <text x={box.width} y={box.height + 38} textAnchor="end" data-voice="second">
        Expected reprints
      </text>
    </>
  );
}

function Limits({ limits, x, y, top }: { limits: readonly LimitPoint[]; x: Scale; y: Scale; top: number }) {
  const curve = (of: (limit: LimitPoint) => number) =>
    line<LimitPoint>()
      .defined((limit) => of(limit) <= top)
      .x((limit) => x(limit.size))
      .y((limit) => y(of(limit)))([...limits]) ?? "";
  return (
    <>
      <path className={styles.limit998} d={curve((limit) => limit.high998)} />
      <path className={styles.limit998} d={curve((limit) => limit.low998)} />
      <path className={styles.limit95} d={curve((limit) => limit.high95)} />
      <path className={styles.limit95} d={curve((limit) => limit.low95)} />
    </>
  );
}
