import { useUnits } from "../../kit/choices.ts";
import { Ladder } from "../../kit/drawings/Ladder.tsx";
import { ladderOf } from "../../kit/drawings/ladder.ts";
import type { FilmPrice } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showMoney } from "../../units/money.ts";
import { millimetres } from "../../units/quantities.ts";

/** LadderPicture draws the price of a metre by length, one film at a time. */
export function LadderPicture({ price, currency }: { price: FilmPrice; currency: string }) {
  const units = useUnits();
  const { steps } = ladderOf(price);
  const money = (minor: bigint) => showMoney({ minor, currency }, units.locale);
  const [first, last] = [steps[0], steps.at(-1)];
  const finding =
    first && last && first !== last
      ? `A metre of ${price.film} falls from ${money(first.perMetreMinor)} to ${money(last.perMetreMinor)} from ${units.show("rollLength", millimetres(last.fromMm))} on`
      : `A metre of ${price.film} asks ${money(first?.perMetreMinor ?? 0n)} at every length`;
  return <Ladder finding={finding} name={`price-ladder-${price.film}`} price={price} currency={currency} />;
}
