// TrialPicture draws the evidence day by day between the two thresholds at which a trial ends.
import { scaleLinear } from "d3-scale";
import { line } from "d3-shape";
import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { TrialStep, WatchTrialResponse } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./compare.module.css";

export function TrialPicture({ trial, name }: { trial: WatchTrialResponse; name: string }) {
  const units = useUnits();
  const { steps, upper, lower } = trial;
  const values = [upper * 1.2, lower * 1.2, ...steps.flatMap(({ better, worse }) => [better, worse])];
  const domain: [number, number] = [Math.min(...values), Math.max(...values)];
  const most = Math.max(
    1,
    Number(trial.plannedCount),
    ...steps.map(({ piecesCount }) => Number(piecesCount)),
  );
  const thresholds = [
    { at: upper, words: "enough to say yes" },
    { at: lower, words: "enough to say no" },
  ];
  return (
    <Picture
      finding={trial.finding}
      name={name}
      height={() => 300}
      labels={{ left: thresholds.map(({ words }) => words), top: false }}
      limits="Each piece speaks for the old rate or for another. Before a line crosses a threshold, nothing is decided."
      numbers={{
        columns: [
          { words: "Day" },
          { words: "Pieces so far" },
          { words: "Reprints so far" },
          { words: "Evidence for fewer", digits: 3 },
          { words: "Evidence for more", digits: 3 },
        ],
        rows: steps.map((s) => [s.day, s.piecesCount, s.reprintsCount, s.better, s.worse]),
      }}
      below={
        <p className={styles.legend}>
          <span>solid line: fewer reprints</span>
          <span>dashed line: more reprints</span>
        </p>
      }
    >
      {(box) => {
        const x = scaleLinear([0, most], [0, box.width]);
        const y = scaleLinear(domain, [box.height, 0]);
        const path = (of: (step: TrialStep) => number) =>
          line<TrialStep>()
            .x((step) => x(Number(step.piecesCount)))
            .y((step) => y(of(step)))([...steps]) ?? "";
        return (
          <>
            {thresholds.map(({ at, words }) => (
              <g key={words}>
                <line x2={box.width} y1={y(at)} y2={y(at)} className={styles.overall} />
                <text x={-8} y={y(at) + 5} textAnchor="end">
                  {words}
                </text>
              </g>
            ))}
            <line x2={box.width} y1={y(0)} y2={y(0)} data-line="grid" />
            {x.ticks(Math.max(2, Math.floor(box.width / 110))).map((tick) => (
              <text key={tick} x={x(tick)} y={box.height + 18} textAnchor="middle" data-voice="second">
                {units.number(tick, 0)}
              </text>
            ))}
            <text x={box.width} y={box.height + 38} textAnchor="end" data-voice="second">
              Pieces in the trial branches
            </text>
            <path className={styles.line} d={path(({ better }) => better)} />
            <path className={styles.limit95} d={path(({ worse }) => worse)} />
          </>
        );
      }}
    </Picture>
  );
}
