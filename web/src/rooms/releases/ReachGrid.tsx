import type { Box } from "../../kit/Picture.tsx";

export const rowPx = 28;

type Row = { words: string; held: number; told: number; silent: boolean };

/** ReachGrid draws a branch a row and a release a column. Shape says it: filled, outlined, dashed. */
export function ReachGrid({
  box,
  releases,
  rows,
}: {
  box: Box;
  releases: readonly number[];
  rows: readonly Row[];
}) {
  const step = Math.min(64, box.width / Math.max(1, releases.length));
  const side = Math.min(18, step - 4);
  return (
    <>
      {releases.map((number, at) => (
        <text key={number} x={at * step + step / 2} y={-4} textAnchor="middle">
          {number}
        </text>
      ))}
      {rows.map((row, line) => (
        <g key={row.words} transform={`translate(0 ${line * rowPx})`}>
          <text x={-8} y={rowPx / 2 + 5} textAnchor="end">
            {row.words}
          </text>
          <path d={`M0 ${rowPx}H${box.width}`} data-line="grid" />
          {releases.map((number, at) => {
            const [x, y] = [at * step + (step - side) / 2, (rowPx - side) / 2];
            if (number > row.held && number > row.told) return null;
            return (
              <rect
                key={number}
                x={x}
                y={y}
                width={side}
                height={side}
                fill={number <= row.held ? "var(--ink)" : "none"}
                stroke="var(--ink)"
                strokeWidth={1.75}
                strokeDasharray={number > row.held && row.silent ? "3 3" : undefined}
              />
            );
          })}
        </g>
      ))}
    </>
  );
}
