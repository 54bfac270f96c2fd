import { useQuery } from "@connectrpc/connect-query";
import { faultOf } from "../../app/fault.ts";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { PricesService } from "../../proto/evenpeel/prices/v1/prices_service_pb.ts";
import type { Content, PriceList } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showMoney } from "../../units/money.ts";
import { millimetres } from "../../units/quantities.ts";
import { consequencesOf } from "./consequences.ts";
import { recipeIn } from "./content.ts";
import styles from "./Pictures.module.css";

type ConsequencesProps = { before: Content; after: Content };

/** Consequences says what follows from the difference of two records. */
export function Consequences({ before, after }: ConsequencesProps) {
  const [was, now] = [recipeIn(before), recipeIn(after)];
  if (was && now) return <OfRecipe {...{ was, now }} />;
  const [from, to] = [before.content, after.content];
  if (from.case === "priceList" && to.case === "priceList" && from.value.filmPrices.length > 0)
    return <OfPrices was={from.value} now={to.value} />;
  return null;
}

type Recipes = {
  was: NonNullable<ReturnType<typeof recipeIn>>;
  now: NonNullable<ReturnType<typeof recipeIn>>;
};

function OfRecipe({ was, now }: Recipes) {
  const found = consequencesOf(was, now, useUnits());
  if (found.length === 0) return null;
  return (
    <Part title="What follows">
      <ul className={styles.follows}>
        {found.map(({ words, caution }) => (
          <li key={words} data-caution={caution || undefined}>
            {caution && <b>Take care: </b>}
            {words}
          </li>
        ))}
      </ul>
    </Part>
  );
}

// A usual order: two metres for twenty garments. Common practice, no source.
const usual = {
  lengthMm: 2_000n,
  garments: 20n,
  cutting: 300n,
  weeding: 900n,
  pressing: 1_200n,
  designs: 1n,
};

function OfPrices({ was, now }: { was: PriceList; now: PriceList }) {
  const units = useUnits();
  const film = now.filmPrices.find((one) => was.filmPrices.some(({ film }) => film === one.film))?.film;
  const asked = (list: PriceList) => ({
    list,
    film: [{ film: film ?? "", lengthMm: usual.lengthMm }],
    garments: [{ garment: "", count: usual.garments }],
    cuttingSeconds: usual.cutting,
    weedingSeconds: usual.weeding,
    pressingSeconds: usual.pressing,
    designsCount: usual.designs,
  });
  const enabled = film !== undefined && was.currencyCode === now.currencyCode;
  const before = useQuery(PricesService.method.quote, asked(was), { enabled });
  const after = useQuery(PricesService.method.quote, asked(now), { enabled });
  if (!enabled) return null;
  const failed = [before, after].find((side) => side.error);
  const money = (minor: bigint) => showMoney({ minor, currency: now.currencyCode }, units.locale);
  const [from, to] = [before.data?.payableMinor, after.data?.payableMinor];
  const by = from !== undefined && to !== undefined ? to - from : 0n;
  const order = `${units.show("rollLength", millimetres(usual.lengthMm))} of ${film} on ${units.count(usual.garments)} garments of the customer’s own`;
  return (
    <Part title="What follows">
      {failed && <Failure title="The usual order could not be priced" fault={faultOf(failed.error)} />}
      {!failed && (from === undefined || to === undefined) && <Loading what="both quotes" rows={1} />}
      {from !== undefined && to !== undefined && (
        <p>
          A usual order ({order}) is asked{" "}
          {by === 0n ? (
            <>{money(to)}, as before.</>
          ) : (
            <>
              <b>{money(to)}</b> instead of {money(from)}: {by > 0n ? "+" : ""}
              {money(by)}.
            </>
          )}
        </p>
      )}
    </Part>
  );
}
