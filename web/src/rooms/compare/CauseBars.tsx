import { scaleLinear } from "d3-scale";
import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { CauseShare } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import styles from "./compare.module.css";
import { causeWords } from "./words.ts";

const rowPx = 48;

/** findingOf names the causes that make up the first half. */
export function findingOf(causes: readonly CauseShare[], percent: (share: number) => string): string {
  const half = causes.findIndex((cause) => cause.running >= 0.5);
  const few = causes.slice(0, half + 1);
  const names = few.map((cause) => causeWords(cause.cause).toLowerCase()).join(", ");
  return `${percent(few.at(-1)?.running ?? 1)} of reprints come from ${names}`;
}

/** CauseBars draws causes, most frequent first; the running share stands as words, not as a second axis. */
export function CauseBars({ causes, name }: { causes: readonly CauseShare[]; name: string }) {
  const units = useUnits();
  const percent = (share: number) => `${units.number(share * 100, 0)} %`;
  const times = (ratio: number) => units.number(ratio, 1);
  const right = (cause: CauseShare) =>
    `${units.count(cause.count)}, ${percent(cause.share)} (running share ${percent(cause.running)})`;
  const most = Math.max(1, ...causes.map((cause) => Number(cause.count)));
  const more = causes.filter((cause) => cause.againstLow > 1);
  return (
    <Picture
      finding={findingOf(causes, percent)}
      name={name}
      height={() => causes.length * rowPx + 8}
      labels={{ top: false, bottom: false }}
      limits="The cause is what the bench chose when it reported; nobody checked it."
      numbers={{
        columns: [
          { words: "Cause" },
          { words: "Reprints" },
          { words: "Share", digits: 4 },
          { words: "Running share", digits: 4 },
          { words: "Rate here ÷ elsewhere", digits: 2 },
          { words: "Low 95 %", digits: 2 },
          { words: "High 95 %", digits: 2 },
        ],
        rows: causes.map((cause) => [
          causeWords(cause.cause),
          cause.count,
          cause.share,
          cause.running,
          finite(cause.againstOthers),
          finite(cause.againstLow),
          finite(cause.againstHigh),
        ]),
      }}
      below={
        <p>
          {more.length === 0
            ? "No cause is more frequent here than elsewhere by more than chance."
            : `More frequent here than elsewhere: ${more
                .map(
                  (cause) =>
                    `${causeWords(cause.cause).toLowerCase()} (${times(cause.againstOthers)} times, 95 % limits ${times(cause.againstLow)} to ${finite(cause.againstHigh) === null ? "unknown" : times(cause.againstHigh)})`,
                )
                .join(", ")}.`}
        </p>
      }
    >
      {(box) => {
        const x = scaleLinear([0, most], [0, box.width]);
        return causes.map((cause, at) => (
          <g key={cause.cause} transform={`translate(0 ${at * rowPx})`}>
            <text y={14}>{causeWords(cause.cause)}</text>
            <text x={box.width} y={14} textAnchor="end" data-voice="second">
              {right(cause)}
            </text>
            <rect
              y={20}
              width={Math.max(1, x(Number(cause.count)))}
              height={18}
              className={cause.againstLow > 1 ? styles.barKept : styles.bar}
            />
          </g>
        ));
      }}
    </Picture>
  );
}

const finite = (value: number) => (Number.isFinite(value) ? value : null);
