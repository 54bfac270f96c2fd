import { useUnits } from "../../kit/choices.ts";
import type { Drawing, DrawingFinding } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import { millimetres } from "../../units/quantities.ts";
import styles from "./bench.module.css";

const markShare = 40; // a mark's radius is this part of the drawing's longer side
const marks = 12; // more marks than this hide the drawing; the list names all of them
const listed = 6; // more lines than this push the plan off the tablet; the rest opens on demand

/** DrawingPicture shows the outlines that were read, and where the blade will have trouble. */
export function DrawingPicture({
  drawing,
  findings,
}: {
  drawing: Drawing;
  findings: readonly DrawingFinding[];
}) {
  const units = useUnits();
  const width = Number(drawing.widthUm) / 1000;
  const height = Number(drawing.heightUm) / 1000;
  const mark = Math.max(width, height) / markShare;
  const size = `${units.show("length", millimetres(Math.round(width)))} wide, ${units.show("length", millimetres(Math.round(height)))} high`;
  return (
    <figure>
      <svg
        className={styles.drawing}
        viewBox={`${-mark * 2} ${-mark * 2} ${width + mark * 4} ${height + mark * 4}`}
        role="img"
        aria-label={`The outlines that were read: ${size}, ${findings.length} places to look at`}
      >
        {drawing.figures.map((figure) => (
          <path key={figure.colour} d={figure.path} fill={figure.colour} fillRule="evenodd" />
        ))}
        {findings.slice(0, marks).map((finding, at) => (
          <g
            key={`${finding.kind} ${finding.xUm} ${finding.yUm}`}
            transform={`translate(${Number(finding.xUm) / 1000} ${Number(finding.yUm) / 1000})`}
          >
            <circle r={mark} fill="var(--hot)" stroke="var(--ground)" strokeWidth={mark / 8} />
            <text
              textAnchor="middle"
              dominantBaseline="central"
              fontSize={mark * 1.2}
              fontWeight="700"
              fill="var(--on-hot)"
            >
              {at + 1}
            </text>
          </g>
        ))}
      </svg>
      <figcaption>
        <small>
          {size}, {drawing.figures.length === 1 ? "one colour" : `${drawing.figures.length} colours`}. Shown
          as it will be seen on the garment; it is cut mirrored.
        </small>
      </figcaption>
    </figure>
  );
}

/** FindingList says what stands at each mark and what to do. */
export function FindingList({ findings }: { findings: readonly DrawingFinding[] }) {
  if (findings.length === 0) return <p>Nothing in it is too thin, too close or too small for this film.</p>;
  const line = (finding: DrawingFinding) => (
    <li key={`${finding.kind} ${finding.xUm} ${finding.yUm}`}>{finding.words}</li>
  );
  const most = Math.max(...findings.map((finding) => finding.passesAtPercent));
  return (
    <>
      <p>
        {findings.length === 1 ? "One place" : `${findings.length} places`} the blade can not do well at this
        size
        {most > 100 ? `; all but open paths pass at ${most} % of it` : ""}. The worst come first.
      </p>
      <ol className={styles.findings} aria-label="Places to look at">
        {findings.slice(0, listed).map(line)}
      </ol>
      {findings.length > listed && (
        <details>
          <summary>{findings.length - listed} more places</summary>
          <ol className={styles.findings} start={listed + 1} aria-label="More places to look at">
            {findings.slice(listed).map(line)}
          </ol>
        </details>
      )}
    </>
  );
}
