import { useUnits } from "../../kit/choices.ts";
import { Picture } from "../../kit/Picture.tsx";
import type { Layout } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { formatNumber } from "../../units/numbers.ts";
import { millimetres } from "../../units/quantities.ts";
import { placeTransform, rollGeometry, rollTransform, stretchesOf } from "./rollGeometry.ts";

const highest = 420; // CSS pixels; a roll is not higher than a tablet's screen
const foot = 48; // room for the scale bar
const top = 20;

/** metresOf writes a length on the roll. */
export const wholeMm = (um: bigint) => millimetres(Math.round(Number(um) / 1000));

/** RollPicture shows the mirrored designs as they lie on the roll, everything in one scale. */
export function RollPicture({ layout, name }: { layout: Layout; name: string }) {
  const units = useUnits();
  const length = units.show("rollLength", wholeMm(layout.lengthUm));
  const used =
    (Number(layout.designAreaMm2) * 1e6) / Math.max(1, Number(layout.lengthUm) * Number(layout.rollWidthUm));
  const finding = `${layout.piecesCount} ${layout.piecesCount === 1n ? "design takes" : "designs take"} ${length} of ${layout.filmTitle}, ${layout.colour}`;
  const barMm = units.choice.length === "in" ? 101.6 : 100;
  return (
    <Picture
      finding={finding}
      name={name}
      height={(width) => {
        const geometry = rollGeometry(layout, Math.max(1, width - 14), highest);
        return geometry.widthMm * geometry.scale + top + foot;
      }}
      limits={`Mirrored, as the blade sees it; the start of the cut is at the left. Designs cover ${formatNumber(used * 100, units.locale, 0)} % of the film drawn; no layout can be shorter than ${units.show("rollLength", wholeMm(layout.boundUm))}.`}
      numbers={{
        columns: [
          { words: "Line" },
          { words: "Size" },
          { words: "Across (mm)", digits: 1 },
          { words: "Along (mm)", digits: 1 },
          { words: "Width (mm)", digits: 1 },
          { words: "Height (mm)", digits: 1 },
          { words: "Turned" },
        ],
        rows: layout.places.map((place) => [
          place.line + 1,
          place.size,
          Number(place.xUm) / 1000,
          Number(place.yUm) / 1000,
          Number(place.widthUm) / 1000,
          Number(place.heightUm) / 1000,
          `${place.angleMdeg / 1000}°`,
        ]),
      }}
    >
      {({ width }) => {
        const geometry = rollGeometry(layout, width, highest);
        const { scale, widthMm } = geometry;
        const stretches = stretchesOf(layout);
        const edge = Number(layout.edgeMarginUm) / 1000;
        const bar = barMm * scale;
        return (
          <>
            <g transform={rollTransform(geometry)}>
              {stretches.map((stretch) => (
                <g key={stretch.startMm} transform={`translate(0 ${stretch.startMm})`}>
                  <rect
                    width={stretch.widthMm}
                    height={stretch.lengthMm}
                    fill="var(--sheet)"
                    stroke="var(--edge)"
                    strokeWidth={1 / scale}
                  />
                  {edge > 0 && (
                    <>
                      <rect width={edge} height={stretch.lengthMm} fill="var(--sunk)" />
                      <rect
                        x={stretch.widthMm - edge}
                        width={edge}
                        height={stretch.lengthMm}
                        fill="var(--sunk)"
                      />
                    </>
                  )}
                </g>
              ))}
              {layout.places.map((place, at) => (
                <path
                  key={at}
                  d={layout.outlines[place.outline]}
                  transform={placeTransform(place, stretches)}
                  fill="var(--ink)"
                  fillRule="evenodd"
                />
              ))}
            </g>
            <path
              d={`M0 ${widthMm * scale + 12}v8h${bar}v-8`}
              fill="none"
              stroke="var(--ink)"
              strokeWidth="1.5"
            />
            <text x={bar + 8} y={widthMm * scale + 22} data-voice="second">
              {units.choice.length === "in" ? "4 in" : "100 mm"}
              {edge > 0 ? "; grey edges: the pinch rollers" : ""}
            </text>
          </>
        );
      }}
    </Picture>
  );
}
