import { useQuery } from "@connectrpc/connect-query";
import { faultOf } from "../../app/fault.ts";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { PricesService } from "../../proto/evenpeel/prices/v1/prices_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import type { Content, PriceList } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showMoney } from "../../units/money.ts";
import { millimetres } from "../../units/quantities.ts";
import { consequencesOf } from "./consequences.ts";
import { recipeIn } from "./content.ts";
import { same } from "./fields.ts";
import styles from "./Pictures.module.css";

type Side = { content: Content; revision?: string };
type ConsequencesProps = {
  left: Side;
  right: Side;
  /** Film that a usual order is priced with, where both lists have it. */
  film: string;
};

/** Consequences says what follows from the difference of two records. */
export function Consequences({ left, right, film }: ConsequencesProps) {
  const [was, now] = [recipeIn(left.content), recipeIn(right.content)];
  if (was && now) return <OfRecipe {...{ was, now }} sealed={bothSealed(left, right)} />;
  const [from, to] = [left.content.content, right.content.content];
  if (from.case === "priceList" && to.case === "priceList" && from.value.filmPrices.length > 0)
    return <OfPrices was={from.value} now={to.value} film={film} />;
  return null;
}

type Sealed = { record: string; fromNumber: bigint; toNumber: bigint };

/** bothSealed gives what the service can compare: two revisions of one record. */
function bothSealed(left: Side, right: Side): Sealed | null {
  const part = (name = "") => /^(.+)\/revisions\/(\d{1,15})$/.exec(name);
  const [from, to] = [part(left.revision), part(right.revision)];
  if (!from || !to || from[1] !== to[1] || from[2] === to[2]) return null;
  return { record: from[1] ?? "", fromNumber: BigInt(from[2] ?? 0), toNumber: BigInt(to[2] ?? 0) };
}

type Recipes = {
  was: NonNullable<ReturnType<typeof recipeIn>>;
  now: NonNullable<ReturnType<typeof recipeIn>>;
};

function OfRecipe({ was, now, sealed }: Recipes & { sealed: Sealed | null }) {
  const units = useUnits();
  const found = consequencesOf(was, now, units);
  const machines = useQuery(CatalogService.method.diffRevisions, sealed ?? {}, { enabled: sealed !== null });
  const { refusals = [], machinesCount = 0n } = machines.data?.consequences ?? {};
  if (found.length === 0 && refusals.length === 0) return null;
  return (
    <Part title="What follows">
      <ul className={styles.follows}>
        {found.map(({ words, caution }) => (
          <li key={words} data-caution={caution || undefined}>
            {caution && <b>Take care: </b>}
            {words}
          </li>
        ))}
        {machines.data && machinesCount > 0n && (
          <li data-caution={refusals.length > 0 || undefined}>
            {refusals.length === 0
              ? `All ${units.count(machinesCount)} machines of the branches can hold it.`
              : `${units.count(refusals.length)} of ${units.count(machinesCount)} machines can not hold it:`}
            {refusals.length > 0 && (
              <ul>
                {refusals.map((one) => (
                  <li key={one.machine}>
                    {one.title} ({one.machine.split("/")[1]}): {one.words}
                    {one.heldBefore ? " It could hold the one before." : ""}
                  </li>
                ))}
              </ul>
            )}
          </li>
        )}
      </ul>
      {machines.error && <Failure title="The machines could not be asked" fault={faultOf(machines.error)} />}
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

function OfPrices({ was, now, film: chosen }: { was: PriceList; now: PriceList; film: string }) {
  const units = useUnits();
  const inBoth = now.filmPrices.flatMap((one) => {
    const other = was.filmPrices.find(({ film }) => film === one.film);
    return other ? [{ film: one.film, differs: !same(other.breaks, one.breaks) }] : [];
  });
  const film = (
    inBoth.find((one) => one.film === chosen) ??
    inBoth.find(({ differs }) => differs) ??
    inBoth[0]
  )?.film;
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
