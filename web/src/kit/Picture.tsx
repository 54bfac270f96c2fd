// Picture frames every chart and layout: the finding as its title, the drawing with measured margins, what it can not
// show, the numbers behind it as a table, and ways to take it along.
import { type ReactNode, useEffect, useId, useRef, useState } from "react";
import { formatCount, formatNumber } from "../units/numbers.ts";
import { useUnits } from "./choices.ts";
import { csvOf, type Numbers } from "./csv.ts";
import styles from "./Picture.module.css";
import { pngOf, saveFile, standaloneSvg } from "./saving.ts";

/** Box is where to draw, in CSS pixels: (0, 0) is the top left corner of the area inside the margins. */
export type Box = { width: number; height: number; margin: Margin };
export type Margin = { top: number; right: number; bottom: number; left: number };

/** Words that will stand outside the plot; the frame measures them and makes room. */
export type Labels = { left?: readonly string[]; right?: readonly string[]; top?: boolean; bottom?: boolean };

type PictureProps = {
  /** What the picture shows, as a sentence: "2 of 24 branches differ by more than chance". */
  finding: string;
  /** What it can not show. */
  limits?: ReactNode;
  /** The numbers behind it. */
  numbers: Numbers;
  /** File name without ending: "fair-view-2027-03". */
  name: string;
  /** Height of the drawing at a given width. */
  height: (width: number) => number;
  labels?: Labels | ((width: number) => Labels);
  /** Draws inside the box. Text may use the classes of the kit's drawing words (see Picture.module.css). */
  children: (box: Box) => ReactNode;
  /** Under the drawing: a legend in words, a readout. */
  below?: ReactNode;
};

const mostOnPaper = 60; // rows of numbers that a printed picture takes along; more are for the file
const fontPx = 14; // same as .drawing text

/** Picture draws once its width is known and again when it changes. */
export function Picture({
  finding,
  limits,
  numbers,
  name,
  height,
  labels = {},
  children,
  below,
}: PictureProps) {
  const [width, setWidth] = useState(0);
  const [status, setStatus] = useState("");
  const frame = useRef<HTMLDivElement>(null);
  const drawing = useRef<SVGSVGElement>(null);
  const units = useUnits();
  const id = useId();

  useEffect(() => {
    const element = frame.current;
    if (!element) return;
    const look = () => setWidth(Math.floor(element.clientWidth));
    look();
    const observer = new ResizeObserver(look);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);

  const margin = marginsFor(typeof labels === "function" ? labels(width) : labels);
  const tall = height(width);
  const box = {
    width: Math.max(1, width - margin.left - margin.right),
    height: Math.max(1, tall - margin.top - margin.bottom),
    margin,
  };

  function saveCsv(forMachines: boolean) {
    const text = csvOf(numbers, forMachines ? "machines" : { locale: units.locale });
    saveFile(`${name}.csv`, new Blob([text], { type: "text/csv;charset=utf-8" }));
    setStatus(`Saved ${name}.csv`);
  }
  function saveSvg() {
    if (!drawing.current) return;
    saveFile(
      `${name}.svg`,
      new Blob([standaloneSvg(drawing.current, finding).source], { type: "image/svg+xml" }),
    );
    setStatus(`Saved ${name}.svg`);
  }
  async function savePng() {
    if (!drawing.current) return;
    const alone = standaloneSvg(drawing.current, finding);
    try {
      saveFile(`${name}.png`, await pngOf(alone.source, alone.width, alone.height));
      setStatus(`Saved ${name}.png`);
    } catch {
      setStatus("The picture could not be drawn as PNG here. Save it as SVG.");
    }
  }
  async function copyLink() {
    try {
      await navigator.clipboard.writeText(location.href);
      setStatus("Link copied");
    } catch {
      setStatus("Copying is not allowed here. The link stands in the address bar.");
    }
  }

  return (
    <figure className={styles.picture} aria-labelledby={id}>
      <figcaption id={id} className={styles.finding}>
        {finding}
      </figcaption>
      <div ref={frame} className={styles.frame}>
        {width > 0 && (
          <svg
            ref={drawing}
            className={styles.drawing}
            width={width}
            height={tall}
            role="img"
            aria-label={finding}
          >
            <g transform={`translate(${margin.left} ${margin.top})`}>{children(box)}</g>
          </svg>
        )}
      </div>
      {below}
      {limits && <p className={styles.limits}>{limits}</p>}
      <details className={styles.numbers} data-screen-only={numbers.rows.length > mostOnPaper || undefined}>
        <summary>
          Numbers{" "}
          <small>
            ({formatCount(numbers.rows.length, units.locale)} {numbers.rows.length === 1 ? "row" : "rows"})
          </small>
        </summary>
        <NumberTable numbers={numbers} caption={finding} locale={units.locale} />
      </details>
      <div className={styles.take} data-screen-only>
        <span>Save as</span>
        <button type="button" onClick={saveSvg}>
          SVG
        </button>
        <button type="button" onClick={savePng}>
          PNG
        </button>
        <button type="button" onClick={() => saveCsv(false)}>
          CSV for a spreadsheet here
        </button>
        <button type="button" onClick={() => saveCsv(true)}>
          CSV for machines
        </button>
        <button type="button" onClick={copyLink}>
          Copy link
        </button>
      </div>
      <p role="status" className={styles.status}>
        {status}
      </p>
    </figure>
  );
}

function NumberTable({ numbers, caption, locale }: { numbers: Numbers; caption: string; locale: string }) {
  return (
    <section className={styles.scroll} tabIndex={0} aria-label={`Numbers: ${caption}`}>
      <table>
        <caption className="unseen">{caption}</caption>
        <thead>
          <tr>
            {numbers.columns.map((column) => (
              <th key={column.words} scope="col">
                {column.words}
              </th>
            ))}
          </tr>
        </thead>
        <tbody>
          {numbers.rows.map((row, at) => (
            <tr key={at}>
              {row.map((cell, column) => (
                <td key={column} data-figure={typeof cell !== "string" || undefined}>
                  {cell === null
                    ? "–"
                    : typeof cell === "number"
                      ? formatNumber(cell, locale, numbers.columns[column]?.digits ?? 0)
                      : typeof cell === "bigint"
                        ? formatCount(cell, locale)
                        : cell}
                </td>
              ))}
            </tr>
          ))}
        </tbody>
      </table>
    </section>
  );
}

/** marginsFor makes room for the words outside the plot, so that none is cut off. */
function marginsFor(labels: Labels): Margin {
  const gap = 8;
  return {
    top: labels.top === false ? 4 : 20,
    bottom: labels.bottom === false ? 4 : 44,
    left: labels.left ? Math.ceil(widest(labels.left)) + gap : 2,
    right: labels.right ? Math.ceil(widest(labels.right)) + gap : 12,
  };
}

let ruler: CanvasRenderingContext2D | null | undefined;

function widest(words: readonly string[]): number {
  if (ruler === undefined) ruler = document.createElement("canvas").getContext("2d");
  if (ruler) ruler.font = `${fontPx}px ${getComputedStyle(document.body).fontFamily || "sans-serif"}`;
  // 0.62 em is wider than the widest average of this face; used only where there is no canvas.
  return words.reduce(
    (most, word) => Math.max(most, ruler?.measureText(word).width ?? word.length * fontPx * 0.62),
    0,
  );
}
