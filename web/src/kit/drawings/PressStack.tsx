import { Drawing } from "./Drawing.tsx";
import styles from "./PressStack.module.css";

export const stackParts = ["platen", "cover", "film", "garment", "pad"] as const;
export type StackPart = (typeof stackParts)[number];

type PressStackProps = {
  /** Words beside each layer; a layer without words is drawn but not named. */
  words?: Partial<Record<StackPart, string>>;
  /** The layers that changed, or that this step is about: drawn filled. */
  marked?: readonly StackPart[];
  /** Heated: the platen is filled as dangerous and heat is drawn under it. */
  hot?: boolean;
  /** Closed: the layers lie on each other. Open: the platen is up. */
  closed?: boolean;
  /** Layers left out, e.g. no cover sheet. */
  without?: readonly StackPart[];
};

const usual: Record<StackPart, string> = {
  platen: "heated platen",
  cover: "cover sheet",
  film: "film",
  garment: "garment",
  pad: "pad",
};

const drawnWidth = 236;
const wordHeight = 21; // in the drawing's units: a line of words beside it

/** spreadOut moves words down just as far as is needed for them not to lie on each other. */
function spreadOut(middles: readonly number[], tall: number): number[] {
  const spread: number[] = [];
  for (const middle of middles) spread.push(Math.max(middle, (spread.at(-1) ?? -wordHeight) + wordHeight));
  // Where the last went over the edge, all above it make room.
  let edge = tall - wordHeight / 2;
  for (let at = spread.length - 1; at >= 0; at--) {
    spread[at] = Math.min(spread[at] ?? 0, edge);
    edge = (spread[at] ?? 0) - wordHeight;
  }
  return spread;
}

/** PressStack shows from the side what lies between platen and pad, in the order it is laid. */
export function PressStack({
  words = usual,
  marked = [],
  hot = false,
  closed = false,
  without = [],
}: PressStackProps) {
  const gap = closed ? 3 : 13;
  const heights: Record<StackPart, number> = { platen: 34, cover: 5, film: 11, garment: 17, pad: 24 };
  let y = 16;
  const places = stackParts
    .filter((part) => !without.includes(part))
    .map((part) => {
      const top = y;
      y += heights[part] + (part === "platen" && !closed ? 30 : gap);
      return { part, top, middle: top + heights[part] / 2 };
    });
  const bottom = y - gap;
  const tall = bottom + 14;
  const spread = spreadOut(
    places.map(({ middle }) => middle),
    tall,
  );
  const named = places
    .map((place, at) => ({ ...place, wordAt: spread[at] ?? place.middle }))
    .filter(({ part }) => words[part] !== undefined);
  const title = `Press stack from above: ${named.map(({ part }) => words[part]).join(", ")}`;
  return (
    <figure className={styles.stack}>
      <Drawing size={[drawnWidth, tall]} title={title}>
        <path d="M96 16V4h28v12" data-fill="paper" />
        {places.map(({ part, top }) => (
          <Layer key={part} part={part} y={top} marked={marked.includes(part)} hot={hot} />
        ))}
        {hot && !closed && <path d="M60 58c-5 6 5 9 0 16M110 58c-5 6 5 9 0 16M160 58c-5 6 5 9 0 16" />}
        <path d={`M16 ${bottom + 6}H204`} />
        {named.map(({ part, middle, wordAt }) => (
          <path key={part} d={`M210 ${middle}h4L226 ${wordAt}h8`} data-line="thin" />
        ))}
      </Drawing>
      <ol className={styles.words} aria-hidden="true">
        {named.map(({ part, wordAt }) => (
          <li
            key={part}
            style={{ insetBlockStart: `${(100 * wordAt) / tall}%` }}
            data-marked={marked.includes(part) || undefined}
          >
            {words[part]}
          </li>
        ))}
      </ol>
    </figure>
  );
}

function Layer({ part, y, marked, hot }: { part: StackPart; y: number; marked: boolean; hot: boolean }) {
  const fill = marked ? "mark" : "paper";
  switch (part) {
    case "platen":
      return (
        <>
          <rect
            x="16"
            y={y}
            width="188"
            height="34"
            rx="3"
            data-fill={hot ? "hot" : marked ? "mark" : "shade"}
          />
          <path d={`M16 ${y + 24}H204`} stroke={hot || marked ? "var(--ground)" : undefined} />
        </>
      );
    case "cover":
      return <path d={`M12 ${y + 3}q24 -5 49 0t49 0t49 0t49 0`} strokeWidth={marked ? 5 : undefined} />;
    case "film":
      return (
        <>
          <path d={`M34 ${y + 1}H186`} />
          <rect x="46" y={y + 4} width="46" height="7" data-fill={marked ? "mark" : "shade"} />
          <rect x="102" y={y + 4} width="22" height="7" data-fill={marked ? "mark" : "shade"} />
          <rect x="134" y={y + 4} width="40" height="7" data-fill={marked ? "mark" : "shade"} />
        </>
      );
    case "garment":
      return (
        <>
          <rect x="12" y={y} width="196" height="17" rx="8" data-fill={fill} />
          {!marked && <path d={`M20 ${y + 8.5}H196`} data-line="dash" />}
        </>
      );
    case "pad":
      return (
        <>
          <rect x="16" y={y} width="188" height="24" rx="5" data-fill={marked ? "mark" : "shade"} />
          {!marked &&
            Array.from({ length: 11 }, (_, at) => 30 + at * 16).map((x) => (
              <path key={x} d={`M${x} ${y + 19}l8 -14`} data-line="thin" />
            ))}
        </>
      );
  }
}
