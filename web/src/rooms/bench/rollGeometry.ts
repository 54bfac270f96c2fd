// Where a layout is drawn: the roll lies on its side, its start at the left, so that a long length fits a screen.
import type { Layout, Place } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";

const mm = (um: bigint): number => Number(um) / 1000;

export type RollGeometry = {
  /** CSS pixels for a millimetre, the same along and across: nothing is stretched. */
  scale: number;
  lengthMm: number;
  widthMm: number;
};

/** rollGeometry fits the drawn length into `width` pixels, but makes nothing higher than `most` pixels. */
export function rollGeometry(layout: Layout, width: number, most: number): RollGeometry {
  const lengthMm = Math.max(1, mm(layout.lengthUm));
  const widthMm = Math.max(1, mm(layout.rollWidthUm));
  return { scale: Math.min(width / lengthMm, most / widthMm), lengthMm, widthMm };
}

/**
 * rollTransform carries millimetres of the layout (x across from the left edge, y along) onto the lying roll. It turns
 * by a quarter and never mirrors: what lies mirrored must look mirrored.
 */
export const rollTransform = ({ scale, widthMm }: RollGeometry): string =>
  `matrix(0 ${-scale} ${scale} 0 0 ${widthMm * scale})`;

/** placeTransform carries an upright outline to its place on the roll, in millimetres. */
export function placeTransform(place: Place): string {
  const x = mm(place.xUm);
  const y = mm(place.yUm);
  return place.turned ? `translate(${x + mm(place.widthUm)} ${y}) rotate(90)` : `translate(${x} ${y})`;
}
