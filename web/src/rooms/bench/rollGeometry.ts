// Where a layout is drawn: the roll lies on its side, its start at the left, so that a long length fits a screen. A layout
// over several stretches of film is drawn as one strip, each stretch after the one before.
import type { Layout, Place } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

const mm = (um: bigint): number => Number(um) / 1000;
const betweenCutsMm = 30;

export type RollGeometry = {
  /** CSS pixels for a millimetre, the same along and across: nothing is stretched. */
  scale: number;
  lengthMm: number;
  widthMm: number;
};

export type Stretch = { startMm: number; lengthMm: number; widthMm: number };

/** stretchesOf gives the stretches of film in the order of cutting; one where the layout says no more. */
export function stretchesOf(layout: Layout): Stretch[] {
  if (layout.cuts.length === 0)
    return [{ startMm: 0, lengthMm: mm(layout.lengthUm), widthMm: mm(layout.rollWidthUm) }];
  let startMm = 0;
  return layout.cuts.map((cut) => {
    const stretch = {
      startMm,
      lengthMm: mm(cut.lengthUm),
      widthMm: mm(cut.rollWidthUm) || mm(layout.rollWidthUm),
    };
    startMm += stretch.lengthMm + betweenCutsMm;
    return stretch;
  });
}

/** rollGeometry fits the drawn length into `width` pixels, but makes nothing higher than `most` pixels. */
export function rollGeometry(layout: Layout, width: number, most: number): RollGeometry {
  const stretches = stretchesOf(layout);
  const last = stretches.at(-1);
  const lengthMm = Math.max(1, last ? last.startMm + last.lengthMm : 1);
  const widthMm = Math.max(1, ...stretches.map((stretch) => stretch.widthMm));
  return { scale: Math.min(width / lengthMm, most / widthMm), lengthMm, widthMm };
}

/**
 * rollTransform carries millimetres of the layout (x across from the left edge, y along) onto the lying roll. It turns
 * by a quarter and never mirrors: what lies mirrored must look mirrored.
 */
export const rollTransform = ({ scale, widthMm }: RollGeometry): string =>
  `matrix(0 ${-scale} ${scale} 0 0 ${widthMm * scale})`;

/** placeTransform carries an upright outline to its place on the roll, in millimetres. */
export function placeTransform(place: Place, stretches: readonly Stretch[] = []): string {
  const start = stretches[place.cut]?.startMm ?? 0;
  if (place.originXUm !== 0n || place.originYUm !== 0n)
    return `translate(${mm(place.originXUm)} ${mm(place.originYUm) + start}) rotate(${place.angleMdeg / 1000})`;
  // A plan that was kept before places said where their origin is.
  const [x, y] = [mm(place.xUm), mm(place.yUm) + start];
  return place.turned ? `translate(${x + mm(place.widthUm)} ${y}) rotate(90)` : `translate(${x} ${y})`;
}
