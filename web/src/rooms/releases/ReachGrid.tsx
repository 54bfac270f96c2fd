import type { Box } from "../../kit/Picture.tsx";
import { ReachStage } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import styles from "./Releases.module.css";

export type Square = { branch: string; title: string; stage: ReachStage; silent: boolean };

const side = 26;
const step = 40;
const headPx = 24;

export type Group = { market: string; squares: readonly Square[] };

const across = (width: number) => Math.max(1, Math.floor(width / step));

/** heightOf is what the groups need at a width. */
export function heightOf(groups: readonly Group[], width: number): number {
  return groups.reduce(
    (sum, { squares }) => sum + headPx + Math.ceil(squares.length / across(width)) * step + 8,
    0,
  );
}

type ReachGridProps = {
  box: Box;
  groups: readonly Group[];
  chosen: string;
  onChoose: (branch: string) => void;
};

/**
 * ReachGrid draws a small square for each branch, always in the same place: by market, then by title. How full it is
 * says how far the release came; a dashed edge says that the branch was not heard lately.
 */
export function ReachGrid({ box, groups, chosen, onChoose }: ReachGridProps) {
  let top = 0;
  return groups.map(({ market, squares }) => {
    const at = top;
    top += headPx + Math.ceil(squares.length / across(box.width)) * step + 8;
    return (
      <g key={market} transform={`translate(0 ${at})`}>
        <text y={15}>{market}</text>
        {squares.map((square, index) => (
          <g
            key={square.branch}
            transform={`translate(${(index % across(box.width)) * step + 2} ${headPx + Math.floor(index / across(box.width)) * step})`}
            className={styles.square}
            onPointerDown={() => onChoose(square.branch)}
          >
            <title>{square.title}</title>
            <Shape stage={square.stage} silent={square.silent} />
            {square.branch === chosen && (
              <rect
                x={-4}
                y={-4}
                width={side + 8}
                height={side + 8}
                fill="none"
                stroke="var(--ink)"
                strokeWidth={2}
              />
            )}
          </g>
        ))}
      </g>
    );
  });
}

/** Shape is one square: empty told, half holding, filled with a light centre opened, full used. */
export function Shape({ stage, silent }: { stage: ReachStage; silent: boolean }) {
  return (
    <>
      <rect
        width={side}
        height={side}
        fill={stage >= ReachStage.OPENED ? "var(--ink)" : "var(--sheet)"}
        stroke="var(--ink)"
        strokeWidth={1.75}
        strokeDasharray={silent ? "4 3" : undefined}
      />
      {stage === ReachStage.HOLDING && <path d={`M0 ${side}V0H${side}Z`} fill="var(--ink)" />}
      {stage === ReachStage.OPENED && (
        <rect x={side / 2 - 5} y={side / 2 - 5} width={10} height={10} fill="var(--sheet)" />
      )}
      {stage === ReachStage.UNSPECIFIED && (
        <path d={`M4 ${side / 2}H${side - 4}`} stroke="var(--edge)" strokeWidth={2} />
      )}
    </>
  );
}
