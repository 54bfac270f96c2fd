// FilmLoss steps down from the film drawn to the film on good garments: each bar begins where the one above ended.
import { scaleLinear } from "d3-scale";
import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { Loss } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { squareMillimetres } from "../../units/quantities.ts";
import styles from "./compare.module.css";
import { lossWords } from "./words.ts";

const rowPx = 48;
const roomPx = 560;

export type Step = { loss: Loss; from: number; to: number };

/** stepsOf places each loss as shares of the film drawn. "drawn" and "decorated" stand on the ground. */
export function stepsOf(losses: readonly Loss[]): Step[] {
  let left = 1;
  return losses.map((loss) => {
    if (loss.key === "drawn" || loss.key === "decorated") return { loss, from: 0, to: loss.share };
    const step = { loss, from: left - loss.share, to: left };
    left -= loss.share;
    return step;
  });
}

/** findingOf names the largest loss. */
export function findingOf(losses: readonly Loss[], percent: (share: number) => string): string {
  const lost = losses.filter((loss) => loss.key !== "drawn" && loss.key !== "decorated");
  const [largest] = lost.toSorted((a, b) => b.share - a.share);
  if (!largest || largest.share <= 0) return "No film was lost on the way";
  return `Most film is lost here: ${lossWords(largest.key).toLowerCase()}, ${percent(largest.share)} of what was drawn`;
}

type FilmLossProps = {
  losses: readonly Loss[];
  name: string;
  /** What stands beside each share. */
  against?: string;
};

export function FilmLoss({ losses, name, against = "all branches" }: FilmLossProps) {
  const units = useUnits();
  const percent = (share: number) => `${units.number(share * 100, 1)} %`;
  const area = (loss: Loss) => units.show("filmArea", squareMillimetres(loss.areaMm2));
  // Where there is no room beside the name, the limits stand in the numbers alone.
  const right = (loss: Loss, width: number) =>
    `${percent(loss.share)}${width >= roomPx && loss.high > loss.low ? `, likely ${percent(loss.low)} to ${percent(loss.high)}` : ""} (${against} ${percent(loss.overallShare)})`;
  const parts = losses.filter((loss) => loss.key !== "drawn");
  const drawn = losses.find((loss) => loss.key === "drawn");
  const steps = stepsOf(losses);
  const low = Math.min(0, ...steps.map((step) => step.from));
  const high = Math.max(1, ...steps.map((step) => step.to));
  return (
    <Picture
      finding={findingOf(losses, percent)}
      name={name}
      height={() => losses.length * rowPx + 8}
      labels={{ top: false, bottom: false }}
      limits="Not accounted for is what no step explains: losses nobody recorded, or film counted wrongly."
      numbers={{
        columns: [
          { words: "Step" },
          { words: "Area (mm²)" },
          { words: "Share of film drawn here", digits: 4 },
          { words: "Low 95 %", digits: 4 },
          { words: "High 95 %", digits: 4 },
          { words: `Share over ${against}`, digits: 4 },
        ],
        rows: losses.map((loss) => [
          lossWords(loss.key),
          loss.areaMm2,
          loss.share,
          loss.high > 0 ? loss.low : null,
          loss.high > 0 ? loss.high : null,
          loss.overallShare,
        ]),
      }}
      below={
        drawn && (
          <p className={styles.sums}>
            {parts.map((loss) => `${lossWords(loss.key)} ${area(loss)}`).join(" + ")} = {area(drawn)} drawn
          </p>
        )
      }
    >
      {(box) => {
        const x = scaleLinear([low, high], [0, box.width]);
        return steps.map(({ loss, from, to }, at) => (
          <g key={loss.key} transform={`translate(0 ${at * rowPx})`}>
            <text y={14}>{lossWords(loss.key)}</text>
            <text x={box.width} y={14} textAnchor="end" data-voice="second">
              {right(loss, box.width)}
            </text>
            <rect
              x={x(Math.min(from, to))}
              y={20}
              width={Math.max(1, Math.abs(x(to) - x(from)))}
              height={18}
              className={loss.key === "decorated" ? styles.barKept : styles.bar}
            />
          </g>
        ));
      }}
    </Picture>
  );
}
