// Ladder draws what a metre of film asks by length: a step down at each break. Where it stands beside an earlier list,
// that one is dashed and every step that asks something else is marked.
import { showMoney } from "../../units/money.ts";
import { millimetres } from "../../units/quantities.ts";
import { useUnits } from "../choices.ts";
import { Picture } from "../Picture.tsx";
import { type Breaks, ladderOf, priceAt, type Step } from "./ladder.ts";

type LadderProps = {
  /** What the picture shows, as a sentence. */
  finding: string;
  /** File name without ending. */
  name: string;
  price: Breaks;
  currency: string;
  /** The list that it is set beside, with its name. */
  before?: { price: Breaks; words: string; nowWords: string };
};

/** Ladder draws one ladder, or two of the same film. */
export function Ladder({ finding, name, price, currency, before }: LadderProps) {
  const units = useUnits();
  const now = ladderOf(price);
  const was = before && ladderOf(before.price);
  const reachMm = Math.max(now.reachMm, was?.reachMm ?? 0);
  const money = (minor: bigint) => showMoney({ minor, currency }, units.locale);
  const length = (mm: number) => units.show("rollLength", millimetres(mm));
  const all = [...now.steps, ...(was?.steps ?? [])];
  const top = Math.max(1, ...all.map((step) => Number(step.perMetreMinor)));
  const starts = [...new Set(all.map((step) => step.fromMm))].toSorted((a, b) => a - b);
  const differs = (mm: number) => was !== undefined && priceAt(was.steps, mm) !== priceAt(now.steps, mm);
  return (
    <Picture
      finding={finding}
      name={name}
      labels={{ left: [money(BigInt(top)), money(0n)] }}
      height={(width) => Math.min(320, Math.max(200, width * 0.4))}
      numbers={{
        columns: [
          { words: "From length (mm)" },
          {
            words: `${before ? `${before.nowWords}: price` : "Price"} of a metre (${currency}, smallest unit)`,
          },
          ...(before ? [{ words: `${before.words}: price of a metre (${currency}, smallest unit)` }] : []),
        ],
        rows: starts.map((mm) => [mm, priceAt(now.steps, mm), ...(was ? [priceAt(was.steps, mm)] : [])]),
      }}
      {...(before
        ? {
            below: `Full line: ${before.nowWords}. Dashed: ${before.words}. A dot marks a price that differs.`,
          }
        : {})}
    >
      {(box) => {
        const x = (mm: number) => (box.width * mm) / reachMm;
        const y = (minor: bigint) => box.height * (1 - Number(minor) / top);
        const line = (steps: readonly Step[]) =>
          steps
            .map((step, at) => {
              const end = at === steps.length - 1 ? reachMm : step.toMm;
              return `${at === 0 ? "M" : "L"}${x(step.fromMm)} ${y(step.perMetreMinor)}H${x(end)}`;
            })
            .join("");
        // Words of close breaks would lie on each other: one is left out where it would touch the one before.
        let free = Number.NEGATIVE_INFINITY;
        const named = starts.filter((mm) => {
          if (x(mm) < free) return false;
          free = x(mm) + length(mm).length * 8 + 12;
          return true;
        });
        return (
          <>
            <path d={`M0 ${box.height}H${box.width}`} data-line="axis" />
            <text x={-8} y={5} textAnchor="end">
              {money(BigInt(top))}
            </text>
            <text x={-8} y={box.height + 5} textAnchor="end">
              {money(0n)}
            </text>
            {now.steps.map((step) => (
              <path
                key={step.fromMm}
                d={`M${x(step.fromMm)} ${y(step.perMetreMinor)}V${box.height}`}
                data-line="grid"
              />
            ))}
            {was && (
              <path
                d={line(was.steps)}
                fill="none"
                stroke="var(--soft)"
                strokeWidth={2}
                strokeDasharray="7 5"
              />
            )}
            <path d={line(now.steps)} fill="none" stroke="var(--ink)" strokeWidth={3} />
            {starts.filter(differs).map((mm) => {
              const minor = priceAt(now.steps, mm);
              return minor === null ? null : (
                <circle
                  key={mm}
                  cx={x(mm)}
                  cy={y(minor)}
                  r={6}
                  fill="var(--ink)"
                  stroke="var(--ground)"
                  strokeWidth={2}
                />
              );
            })}
            {named.map((mm) => (
              <text key={mm} x={x(mm)} y={box.height + 22}>
                {length(mm)}
              </text>
            ))}
          </>
        );
      }}
    </Picture>
  );
}
