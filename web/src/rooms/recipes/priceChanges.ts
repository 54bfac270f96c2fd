// Price changes: what rows would change in a price list. Nothing is saved here; the person accepts first.
import { clone, create } from "@bufbuild/protobuf";
import {
  FilmPriceSchema,
  GarmentPriceSchema,
  PriceBreakSchema,
  type PriceList,
  PriceListSchema,
} from "../../proto/evenpeel/record/v1/record_pb.ts";
import type { Grid, PriceRow } from "./priceRows.ts";

/** How rows meet what stands: they replace the whole grid, or change and add only what they name. */
export type Meeting = "change" | "replace";

/** withRows is a copy of the list with the rows in it. */
export function withRows(
  list: PriceList,
  grid: Grid,
  rows: readonly PriceRow[],
  meeting: Meeting,
): PriceList {
  const next = clone(PriceListSchema, list);
  if (grid === "garments") {
    const kept = meeting === "replace" ? [] : next.garments;
    for (const row of rows) {
      const was = next.garments.find(({ garment }) => garment === row.code);
      const price = create(GarmentPriceSchema, {
        garment: row.code,
        title: row.title ?? was?.title ?? "",
        eachMinor: row.priceMinor,
        costMinor: row.costMinor ?? was?.costMinor ?? 0n,
      });
      const at = kept.findIndex(({ garment }) => garment === row.code);
      if (at < 0) kept.push(price);
      else kept[at] = price;
    }
    next.garments = kept;
    return next;
  }
  const films = meeting === "replace" ? [] : next.filmPrices;
  for (const row of rows) {
    let film = films.find((one) => one.film === row.code);
    if (!film) {
      const was = next.filmPrices.find((one) => one.film === row.code);
      film = create(FilmPriceSchema, { film: row.code, costPerMetreMinor: was?.costPerMetreMinor ?? 0n });
      films.push(film);
    }
    if (row.costMinor !== null) film.costPerMetreMinor = row.costMinor;
    film.breaks = [
      ...film.breaks.filter(({ fromMm }) => fromMm !== row.fromMm),
      create(PriceBreakSchema, { fromMm: row.fromMm, perMetreMinor: row.priceMinor }),
    ].toSorted((a, b) => Number(a.fromMm - b.fromMm));
  }
  next.filmPrices = films;
  return next;
}

export type PriceChange = {
  code: string;
  fromMm: bigint;
  title: string;
  /** null where there is none on that side. */
  before: { price: bigint; cost: bigint } | null;
  after: { price: bigint; cost: bigint } | null;
};

/** priceChanges sets both lists side by side, price by price, in the order of the second. */
export function priceChanges(grid: Grid, before: PriceList, after: PriceList): PriceChange[] {
  const [from, to] = [flat(grid, before), flat(grid, after)];
  const gone = [...from].filter(([key]) => !to.has(key));
  return [
    ...[...to].map(([key, one]) => ({ ...one.of, before: from.get(key)?.says ?? null, after: one.says })),
    ...gone.map(([, one]) => ({ ...one.of, before: one.says, after: null })),
  ];
}

export const isChange = ({ before, after }: PriceChange): boolean =>
  before?.price !== after?.price || before?.cost !== after?.cost;

function flat(grid: Grid, list: PriceList) {
  const found = new Map<
    string,
    { of: { code: string; fromMm: bigint; title: string }; says: { price: bigint; cost: bigint } }
  >();
  if (grid === "films")
    for (const { film, breaks, costPerMetreMinor } of list.filmPrices)
      for (const { fromMm, perMetreMinor } of breaks)
        found.set(`${film} ${fromMm}`, {
          of: { code: film, fromMm, title: film },
          says: { price: perMetreMinor, cost: costPerMetreMinor },
        });
  else
    for (const { garment, title, eachMinor, costMinor } of list.garments)
      found.set(garment, {
        of: { code: garment, fromMm: 0n, title: title || garment },
        says: { price: eachMinor, cost: costMinor },
      });
  return found;
}
