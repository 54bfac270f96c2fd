import { Ladder } from "../../kit/drawings/Ladder.tsx";
import { Select } from "../../kit/Field.tsx";
import type { PriceList } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { same } from "./fields.ts";

type PriceLaddersProps = {
  before: { words: string; list: PriceList };
  after: { words: string; list: PriceList };
  /** Code of the film that is drawn; the first that differs where it names none. */
  film: string;
  onFilm: (film: string) => void;
};

/** PriceLadders draws the ladder of one film in two lists over each other. */
export function PriceLadders({ before, after, film, onFilm }: PriceLaddersProps) {
  const of = (list: PriceList, code: string) => list.filmPrices.find((one) => one.film === code);
  const codes = [...new Set([...after.list.filmPrices, ...before.list.filmPrices].map((one) => one.film))];
  const differing = codes.filter(
    (code) => !same(of(before.list, code)?.breaks, of(after.list, code)?.breaks),
  );
  const chosen = codes.includes(film) ? film : (differing[0] ?? codes[0]);
  if (chosen === undefined) return null;
  const [was, now] = [of(before.list, chosen), of(after.list, chosen)];
  const finding = !was
    ? `${chosen} is new in ${after.words}`
    : !now
      ? `${chosen} is no longer in ${after.words}`
      : differing.includes(chosen)
        ? `The prices of ${chosen} differ between ${before.words} and ${after.words}`
        : `The prices of ${chosen} are the same in ${before.words} and ${after.words}`;
  return (
    <>
      {codes.length > 1 && (
        <Select
          label="Film"
          value={chosen}
          options={codes.map((code) => ({
            value: code,
            words: differing.includes(code) ? `${code} (differs)` : code,
          }))}
          onChange={onFilm}
        />
      )}
      <Ladder
        finding={finding}
        name={`price-ladders-${chosen}`}
        price={now ?? { breaks: [] }}
        currency={(/^[A-Z]{3}$/.test(after.list.currencyCode) && after.list.currencyCode) || "XXX"}
        before={{ price: was ?? { breaks: [] }, words: before.words, nowWords: after.words }}
      />
    </>
  );
}
