import type { Recipe } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showDuration } from "../../units/durations.ts";
import { seconds } from "../../units/quantities.ts";
import styles from "./Pictures.module.css";
import { cycleOf } from "./RecipePicture.tsx";

const heights = { dwell: 18, press: 12, wait: 5, peel: 8 } as const;

/** MiniCycle is the press cycle as small bars for a list: the dwell full, waiting low. */
export function MiniCycle({ recipe }: { recipe: Recipe }) {
  const steps = cycleOf(recipe);
  const total = steps.reduce((sum, step) => sum + step.length, 0);
  let begin = 0;
  return (
    <svg
      className={styles.mini}
      viewBox="0 0 144 20"
      preserveAspectRatio="none"
      role="img"
      aria-label={`Cycle of ${showDuration(seconds(total))}`}
    >
      <path d="M0 19H144" stroke="var(--edge)" />
      {steps.map((step) => {
        const [x, width] = [(144 * begin) / Math.max(1, total), (144 * step.length) / Math.max(1, total)];
        begin += step.length;
        return (
          <rect
            key={step.words}
            x={x}
            y={19 - heights[step.kind]}
            width={Math.max(1, width - 1)}
            height={heights[step.kind]}
            fill={step.kind === "dwell" ? "var(--ink)" : "var(--shade)"}
            stroke="var(--ink)"
            vectorEffect="non-scaling-stroke"
          />
        );
      })}
    </svg>
  );
}
