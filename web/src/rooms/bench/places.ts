// Where a design goes on a garment: the table of places, read for one order.
import { create } from "@bufbuild/protobuf";
import {
  type Drawing,
  type Landing,
  type ListPlacementsResponse,
  type NamedPlace,
  type Order,
  type Plan,
  type SizedDesign,
  SizedDesignSchema,
} from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { type Millimetres, millimetres } from "../../units/quantities.ts";
import type { SizeChoice, Wanted } from "./wanted.ts";

const childMonths = 168; // from 14 years on, adults' sizes are worn

// The cuts of garment that follow from what a thing is sold as; children's cuts have names of their own.
const cuts: Record<string, string> = {
  "t-shirt": "t-shirt",
  hoodie: "hoodie",
  sweatshirt: "sweatshirt",
  polo: "polo",
  bag: "tote",
  apron: "apron",
};
const childrens = ["t-shirt", "hoodie"];

/** guessedKind is the cut of garment that an order is most likely on, or empty. */
export function guessedKind(soldAs: string, ageMonths: number): string {
  const child = ageMonths >= 0 && ageMonths < childMonths;
  return child && childrens.includes(soldAs) ? `childs-${soldAs}` : (cuts[soldAs] ?? "");
}

/** The cut of an order that is placed on none of the table's. */
export const noKind = "none"; // orders.v1 OrderLine.garment_kind

/** kindOf is the cut that a kept order is placed on, or empty or noKind. */
export const kindOf = (order: Order): string =>
  order.lines[0]?.garmentKind || guessedKind(order.soldAs, Number(order.ageMonths));

/** placeName turns "left chest", as it was once written, into the name that the table has. */
export const placeName = (placement: string): string => placement.replaceAll(" ", "-");

export const placesOn = (table: ListPlacementsResponse | undefined, kind: string): NamedPlace[] =>
  table?.places.filter(({ garmentKinds }) => garmentKinds.includes(kind)) ?? [];

/** placeFor is the wanted place on that cut, or the one most like it. */
export function placeFor(
  table: ListPlacementsResponse | undefined,
  kind: string,
  placement: string,
): NamedPlace | undefined {
  const on = placesOn(table, kind);
  const name = placeName(placement);
  return (
    on.find((place) => place.name === name) ??
    on.find((place) => place.name.endsWith(name) || name.endsWith(place.name)) ??
    on[0]
  );
}

/** settled says of what is wanted on which cut of garment and at which place it goes, as far as the table knows. */
export function settled(wanted: Wanted, table: ListPlacementsResponse | undefined): Wanted {
  const guess = guessedKind(wanted.soldAs, Number(wanted.ageMonths));
  const known = table?.garmentKinds.some(({ kind }) => kind === guess) ?? false;
  const garmentKind = wanted.garmentKind ?? (known ? guess : noKind);
  const place = placeFor(table, garmentKind, wanted.placement);
  return { ...wanted, garmentKind, placement: place?.name ?? placeName(wanted.placement) };
}

/** sizedDesigns is the drawing on each size in hand. */
export function sizedDesigns(drawing: Drawing, sizes: readonly SizeChoice[]): SizedDesign[] {
  return sizes
    .filter(({ size }) => size.trim() !== "")
    .map(({ size, widthMm }) => {
      const widthUm = widthMm === null ? drawing.widthUm : BigInt(widthMm) * 1000n;
      const heightUm = drawing.widthUm > 0n ? (widthUm * drawing.heightUm) / drawing.widthUm : 0n;
      return create(SizedDesignSchema, { size: size.trim(), widthUm, heightUm });
    });
}

/** designsOf is the design of a plan on each size: the box around all of its films, as they are worn together. */
export function designsOf(plan: Plan): SizedDesign[] {
  const boxes = new Map<string, { left: bigint; top: bigint; right: bigint; foot: bigint }>();
  const less = (a: bigint, b: bigint) => (a < b ? a : b);
  const more = (a: bigint, b: bigint) => (a > b ? a : b);
  for (const { size, registerXUm: x, registerYUm: y, widthUm, heightUm } of plan.layouts.flatMap(
    ({ designs }) => designs,
  )) {
    const was = boxes.get(size) ?? { left: x, top: y, right: x, foot: y };
    boxes.set(size, {
      left: less(was.left, x),
      top: less(was.top, y),
      right: more(was.right, x + widthUm),
      foot: more(was.foot, y + heightUm),
    });
  }
  return [...boxes]
    .filter(([size, { left, right }]) => size !== "" && right > left)
    .map(([size, { left, top, right, foot }]) =>
      create(SizedDesignSchema, { size, widthUm: right - left, heightUm: foot - top }),
    );
}

/** sizeInHand is the size of the n-th garment of an order, counted from 1, as its sizes stand. */
export function sizeInHand(order: Order, piece: number): string {
  let left = piece;
  for (const { size, count } of order.lines[0]?.sizes ?? []) {
    left -= Number(count);
    if (left <= 0) return size;
  }
  return "";
}

type Show = (length: Millimetres) => string;

/** offsetWords says how far from its landmark a design lies. */
export function offsetWords(place: NamedPlace, show: Show): string {
  const far = show(millimetres(place.offsetMm));
  const sleeve = place.face.endsWith("sleeve");
  switch (place.landmark) {
    case "hem":
      return `${far} above the hem${sleeve ? " of the sleeve" : ""}`;
    case "shoulder":
      return `${far} below the ${sleeve ? "shoulder seam" : "highest point of the shoulder"}`;
    case "top-edge":
      return `${far} below the top edge`;
    default:
      return `${far} below the lower edge of the collar`;
  }
}

/** acrossWords says where the middle of a design lies across the garment. */
export function acrossWords({ acrossMm }: NamedPlace, show: Show): string {
  if (acrossMm === 0n) return "its middle on the middle fold";
  const far = show(millimetres(acrossMm < 0n ? -acrossMm : acrossMm));
  return `its middle ${far} from the middle fold, towards the wearer’s ${acrossMm > 0n ? "left" : "right"}`;
}

/** landmarkAt is where on the face the offset is measured from, in millimetres down. */
export function landmarkAt(landing: Landing, place: NamedPlace): number {
  const { design, faceBox } = landing;
  if (place.landmark === "hem") return Number(faceBox?.heightMm ?? 0n);
  return Number((design?.yMm ?? 0n) - place.offsetMm);
}
