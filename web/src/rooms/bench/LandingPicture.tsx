import { useUnits } from "../../kit/choices.ts";
import { Notice } from "../../kit/Notice.tsx";
import { Facts } from "../../kit/Screen.tsx";
import type { Drawing, Landing, NamedPlace } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { type Millimetres, millimetres } from "../../units/quantities.ts";
import styles from "./landing.module.css";
import { acrossWords, landmarkAt, offsetWords } from "./places.ts";

const faces: Record<string, string> = {
  front: "front",
  back: "back",
  "left-sleeve": "left sleeve",
  "right-sleeve": "right sleeve",
};

type LandingPictureProps = {
  landing: Landing;
  place: NamedPlace;
  garment: string;
  /** The design itself, where it is at hand; otherwise its box is filled. */
  drawing?: Drawing | undefined;
};

/** LandingPicture draws a garment laid flat with the design where it lands, and the distances to measure by. */
export function LandingPicture({ landing, place, garment, drawing }: LandingPictureProps) {
  const units = useUnits();
  const show = (mm: Millimetres) => units.show("length", mm);
  if (landing.refusal !== "" || !landing.design || !landing.drawn || !landing.usual)
    return <Notice kind="caution" title={landing.refusal || "This size can not be drawn."} />;
  const { design, usual } = landing;
  const size = `${show(millimetres(design.widthMm))} × ${show(millimetres(design.heightMm))}`;
  const finding = `${offsetWords(place, show)}, ${acrossWords(place, show)}`;
  return (
    <figure className={styles.landing}>
      <Flat
        landing={landing}
        place={place}
        drawing={drawing}
        title={`${garment}, ${faces[place.face]}, size ${landing.size}: the design of ${size} lies ${finding}.`}
      />
      <figcaption>
        {place.title}, size {landing.size}: {finding}.
      </figcaption>
      {landing.warnings.map(({ kind, words }) => (
        <Notice key={kind} kind="caution" title={words} />
      ))}
      <Facts
        facts={[
          {
            words: "Design",
            value: `${size}, on a ${garment} ${show(millimetres(landing.faceBox?.widthMm ?? 0n))} wide`,
          },
          {
            words: "Usual here",
            value: `${show(millimetres(usual.leastMm))} to ${show(millimetres(usual.mostMm))} wide, at most ${show(millimetres(usual.tallestMm))} high (${place.source})`,
          },
        ]}
      />
    </figure>
  );
}

type FlatProps = {
  landing: Landing;
  place: NamedPlace;
  drawing: Drawing | undefined;
  title: string;
};

function Flat({ landing, place, drawing, title }: FlatProps) {
  const units = useUnits();
  const { design, drawn, faceBox } = landing;
  if (!design || !drawn || !faceBox) return null;
  const n = (mm: bigint) => Number(mm);
  const margin = n(drawn.widthMm) / 30;
  const letter = Math.max(n(drawn.widthMm), n(drawn.heightMm)) / 17;
  const from = landmarkAt(landing, place);
  const edge = place.landmark === "hem" ? n(design.yMm + design.heightMm) : n(design.yMm);
  const middle = n(design.xMm) + n(design.widthMm) / 2;
  const fold = n(faceBox.widthMm) / 2;
  // Beside the design, where its own colour does not hide the line; away from the landmark.
  const below = place.landmark === "hem" ? -1 : 1;
  const far = place.landmark === "hem" ? n(design.yMm) : n(design.yMm + design.heightMm);
  const aside = far + (below * letter) / 2;
  const offset = units.show("length", millimetres(place.offsetMm));
  const across = units.show("length", millimetres(place.acrossMm < 0n ? -place.acrossMm : place.acrossMm));
  const scale = drawing && drawing.widthUm > 0n ? (n(design.widthMm) * 1000) / n(drawing.widthUm) : 0;
  return (
    <svg
      className={styles.flat}
      viewBox={`${n(drawn.xMm) - margin} ${n(drawn.yMm) - margin} ${n(drawn.widthMm) + 2 * margin} ${n(drawn.heightMm) + 2 * margin}`}
      role="img"
      aria-label={title}
    >
      <path d={landing.outline} data-part="garment" />
      <path d={`M${fold} 0V${n(faceBox.heightMm)}`} data-part="fold" />
      {scale > 0 ? (
        <g transform={`translate(${n(design.xMm)} ${n(design.yMm)}) scale(${scale})`}>
          {drawing?.figures.map(({ colour, path }) => (
            <path key={colour} d={path} fill={colour} fillRule="evenodd" data-part="figure" />
          ))}
        </g>
      ) : (
        <rect
          x={n(design.xMm)}
          y={n(design.yMm)}
          width={n(design.widthMm)}
          height={n(design.heightMm)}
          data-part="film"
        />
      )}
      <rect
        x={n(design.xMm)}
        y={n(design.yMm)}
        width={n(design.widthMm)}
        height={n(design.heightMm)}
        data-part="box"
      />
      <Measure x1={middle} y1={from} x2={middle} y2={edge} tick={letter / 3} />
      <text x={middle + letter / 2} y={(from + edge) / 2} fontSize={letter} dominantBaseline="central">
        {offset}
      </text>
      {place.acrossMm !== 0n && (
        <>
          <Measure x1={fold} y1={aside} x2={middle} y2={aside} tick={letter / 3} />
          <text
            x={(fold + middle) / 2}
            y={aside + below * letter}
            fontSize={letter}
            textAnchor="middle"
            dominantBaseline="central"
          >
            {across}
          </text>
        </>
      )}
    </svg>
  );
}

/** Measure is a straight line with a tick at each end. */
function Measure({ x1, y1, x2, y2, tick }: { x1: number; y1: number; x2: number; y2: number; tick: number }) {
  const [dx, dy] = x1 === x2 ? [tick, 0] : [0, tick];
  const end = (x: number, y: number) => `M${x - dx} ${y - dy}L${x + dx} ${y + dy}`;
  return <path d={`M${x1} ${y1}L${x2} ${y2}${end(x1, y1)}${end(x2, y2)}`} data-part="measure" />;
}
