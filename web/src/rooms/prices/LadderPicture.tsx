import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { FilmPrice } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showMoney } from "../../units/money.ts";
import { millimetres } from "../../units/quantities.ts";
import { ladderOf } from "./ladder.ts";

/** LadderPicture draws the price of a metre by length, one film at a time. */
export function LadderPicture({ price, currency }: { price: FilmPrice; currency: string }) {
  const units = useUnits();
  const { steps, reachMm } = ladderOf(price);
  const money = (minor: bigint) => showMoney({ minor, currency }, units.locale);
  const length = (mm: number) => units.show("rollLength", millimetres(mm));
  const top = Math.max(1, ...steps.map((step) => Number(step.perMetreMinor)));
  const [first, last] = [steps[0], steps.at(-1)];
  const finding =
    first && last && first !== last
      ? `A metre of ${price.film} falls from ${money(first.perMetreMinor)} to ${money(last.perMetreMinor)} from ${length(last.fromMm)} on`
      : `A metre of ${price.film} asks ${money(first?.perMetreMinor ?? 0n)} at every length`;
  return (
    <Picture
      finding={finding}
      name={`price-ladder-${price.film}`}
      labels={{ left: [money(BigInt(top)), money(0n)] }}
      height={(width) => Math.min(320, Math.max(200, width * 0.4))}
      numbers={{
        columns: [{ words: "From length (mm)" }, { words: `Price of a metre (${currency}, smallest unit)` }],
        rows: steps.map((step) => [step.fromMm, step.perMetreMinor]),
      }}
    >
      {(box) => {
        const x = (mm: number) => (box.width * mm) / reachMm;
        const y = (minor: bigint) => box.height * (1 - Number(minor) / top);
        const line = steps
          .map(
            (step, at) => `${at === 0 ? "M" : "L"}${x(step.fromMm)} ${y(step.perMetreMinor)}H${x(step.toMm)}`,
          )
          .join("");
        // Words of close breaks would lie on each other: one is left out where it would touch the one before.
        let free = Number.NEGATIVE_INFINITY;
        const named = steps.filter((step) => {
          const words = length(step.fromMm);
          if (x(step.fromMm) < free) return false;
          free = x(step.fromMm) + words.length * 8 + 12;
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
            {steps.map((step) => (
              <path
                key={step.fromMm}
                d={`M${x(step.fromMm)} ${y(step.perMetreMinor)}V${box.height}`}
                data-line="grid"
              />
            ))}
            <path d={line} fill="none" stroke="var(--ink)" strokeWidth={3} />
            {named.map((step) => (
              <text key={step.fromMm} x={x(step.fromMm)} y={box.height + 22}>
                {length(step.fromMm)}
              </text>
            ))}
          </>
        );
      }}
    </Picture>
  );
}
