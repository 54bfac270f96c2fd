// RollDesk shows the mirrored designs on the roll in true scale, and lets a person look closer, move a design, lock it,
// or step back. Everything can be done with the keyboard alone.
import { type KeyboardEvent, type PointerEvent, useRef, useState } from "react";
import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import type { Layout } from "../../proto/evenpeel/orders/v1/orders_service_pb.ts";
import styles from "./rollDesk.module.css";
import { placeTransform, rollGeometry, stretchesOf } from "./rollGeometry.ts";

type RollDeskProps = {
  layout: Layout;
  /** Index of the design in hand; null is none. */
  chosen: number | null;
  /** Designs that can not be cut where they are. */
  wrong: ReadonlySet<number>;
  /** Whether designs may be moved just now. */
  movable: boolean;
  onChoose: (at: number | null) => void;
  onMove: (at: number, acrossUm: bigint, alongUm: bigint) => void;
  onTurn: (at: number) => void;
  onLock: (at: number) => void;
};

type View = { x: number; y: number; zoom: number };

const whole: View = { x: 0, y: 0, zoom: 1 };
const mostZoom = 12;

export function RollDesk(props: RollDeskProps) {
  const { layout, chosen, wrong, movable, onChoose, onMove, onTurn, onLock } = props;
  const units = useUnits();
  const [view, setView] = useState(whole);
  const [drag, setDrag] = useState<{
    at: number | null;
    x: number;
    y: number;
    dx: number;
    dy: number;
  } | null>(null);
  const drawing = useRef<SVGSVGElement>(null);
  const stretches = stretchesOf(layout);
  const { lengthMm, widthMm } = rollGeometry(layout, 1, 1);
  const edge = Number(layout.edgeMarginUm) / 1000;
  const room = 6; // millimetres around the film
  const [seenLength, seenWidth] = [(lengthMm + 2 * room) / view.zoom, (widthMm + 2 * room) / view.zoom];
  const line = Math.max(seenLength / 900, seenWidth / 420);

  const zoomTo = (zoom: number) => {
    const next = Math.min(mostZoom, Math.max(1, zoom));
    // What is in the middle stays there.
    const middle = { x: view.x + seenLength / 2, y: view.y + seenWidth / 2 };
    setView(
      within({
        zoom: next,
        x: middle.x - (lengthMm + 2 * room) / next / 2,
        y: middle.y - (widthMm + 2 * room) / next / 2,
      }),
    );
  };
  const within = (to: View): View => ({
    zoom: to.zoom,
    x: Math.min(Math.max(0, to.x), (lengthMm + 2 * room) * (1 - 1 / to.zoom)),
    y: Math.min(Math.max(0, to.y), (widthMm + 2 * room) * (1 - 1 / to.zoom)),
  });
  /** perPixel is how many millimetres a pixel of the screen stands for. */
  const perPixel = () => {
    const box = drawing.current?.getBoundingClientRect();
    return box && box.width > 0 ? Math.max(seenLength / box.width, seenWidth / box.height) : 1;
  };

  function onKey(event: KeyboardEvent) {
    const step = event.shiftKey ? 10_000 : event.altKey ? 100 : 1_000;
    const ways: Record<string, [along: number, across: number]> = {
      ArrowLeft: [-step, 0],
      ArrowRight: [step, 0],
      ArrowUp: [0, step],
      ArrowDown: [0, -step],
    };
    const [along, across] = ways[event.key] ?? [0, 0];
    const count = layout.places.length;
    if (along !== 0 || across !== 0) {
      if (chosen !== null && movable) onMove(chosen, BigInt(across), BigInt(along));
      else setView(within({ ...view, x: view.x + (along / 1_000) * 5, y: view.y - (across / 1_000) * 5 }));
    } else if (event.key === "PageDown") onChoose(chosen === null ? 0 : (chosen + 1) % count);
    else if (event.key === "PageUp") onChoose(chosen === null ? count - 1 : (chosen + count - 1) % count);
    else if (event.key === "Escape" && chosen !== null) onChoose(null);
    else if (event.key === "+" || event.key === "=") zoomTo(view.zoom * 1.5);
    else if (event.key === "-") zoomTo(view.zoom / 1.5);
    else if (event.key === "0") setView(whole);
    else if (event.key.toLowerCase() === "l" && chosen !== null && !event.ctrlKey && !event.metaKey)
      onLock(chosen);
    else if (
      event.key.toLowerCase() === "t" &&
      chosen !== null &&
      movable &&
      !event.ctrlKey &&
      !event.metaKey
    )
      onTurn(chosen);
    else return;
    event.preventDefault();
  }
  function onDown(event: PointerEvent, at: number | null) {
    if (event.button !== 0) return;
    event.stopPropagation();
    drawing.current?.setPointerCapture(event.pointerId);
    if (at !== null) onChoose(at);
    setDrag({
      at: movable && at !== null && !layout.places[at]?.locked ? at : null,
      x: event.clientX,
      y: event.clientY,
      dx: 0,
      dy: 0,
    });
  }
  function onPointerMove(event: PointerEvent) {
    if (!drag) return;
    const scale = perPixel();
    if (drag.at === null) {
      setView(
        within({
          ...view,
          x: view.x - (event.clientX - drag.x) * scale,
          y: view.y - (event.clientY - drag.y) * scale,
        }),
      );
      setDrag({ ...drag, x: event.clientX, y: event.clientY });
    } else setDrag({ ...drag, dx: (event.clientX - drag.x) * scale, dy: (event.clientY - drag.y) * scale });
  }
  function onUp() {
    if (drag?.at != null && (Math.abs(drag.dx) > 0.05 || Math.abs(drag.dy) > 0.05))
      // On the lying roll, to the right is along, and up is across.
      onMove(drag.at, BigInt(Math.round(-drag.dy * 1000)), BigInt(Math.round(drag.dx * 1000)));
    setDrag(null);
  }

  const place = chosen === null ? undefined : layout.places[chosen];
  const mm = (um: bigint) => units.number(Number(um) / 1000, 1);
  return (
    <div className={styles.desk}>
      <div className={styles.tools} data-screen-only>
        <Button aria-label="Look closer" onClick={() => zoomTo(view.zoom * 1.5)}>
          +
        </Button>
        <Button aria-label="Look from farther away" onClick={() => zoomTo(view.zoom / 1.5)}>
          −
        </Button>
        <Button onClick={() => setView(whole)}>All of it</Button>
        {chosen !== null && place && (
          <>
            <Button aria-pressed={place.locked} onClick={() => onLock(chosen)}>
              {place.locked ? "Let it go" : "Lock it here"}
            </Button>
            <Button
              onClick={() => onTurn(chosen)}
              {...(movable ? {} : { because: "Stop the search first." })}
            >
              Turn it
            </Button>
          </>
        )}
      </div>
      <div
        className={styles.frame}
        role="application"
        tabIndex={0}
        aria-label="Designs on the roll"
        onKeyDown={onKey}
      >
        <svg
          ref={drawing}
          className={styles.roll}
          viewBox={`${view.x - room} ${view.y - room} ${seenLength} ${seenWidth}`}
          onPointerDown={(event) => onDown(event, null)}
          onPointerMove={onPointerMove}
          onPointerUp={onUp}
          onPointerCancel={() => setDrag(null)}
          onDoubleClick={() => onChoose(null)}
          aria-hidden="true"
        >
          <g transform={`matrix(0 -1 1 0 0 ${widthMm})`}>
            {stretches.map((stretch) => (
              <g key={stretch.startMm} transform={`translate(0 ${stretch.startMm})`}>
                <rect
                  width={stretch.widthMm}
                  height={stretch.lengthMm}
                  fill="var(--sheet)"
                  stroke="var(--edge)"
                  strokeWidth={line}
                />
                <rect width={edge} height={stretch.lengthMm} fill="var(--sunk)" />
                <rect x={stretch.widthMm - edge} width={edge} height={stretch.lengthMm} fill="var(--sunk)" />
              </g>
            ))}
            {layout.places.map((one, at) => {
              const shift = drag?.at === at ? `translate(${-drag.dy} ${drag.dx}) ` : "";
              return (
                <g key={at} transform={shift + placeTransform(one, stretches)}>
                  <path
                    d={layout.outlines[one.outline]}
                    fill={
                      wrong.has(at)
                        ? "var(--hot)"
                        : at === chosen
                          ? "var(--mark)"
                          : one.locked
                            ? "var(--shade)"
                            : "var(--ink)"
                    }
                    stroke={at === chosen || one.locked ? "var(--ink)" : "none"}
                    strokeWidth={at === chosen ? line * 2.5 : line}
                    fillRule="evenodd"
                    className={styles.design}
                    onPointerDown={(event) => onDown(event, at)}
                  />
                </g>
              );
            })}
          </g>
        </svg>
      </div>
      <p className={styles.readout} aria-live="polite">
        {place && chosen !== null
          ? `Design ${chosen + 1} of ${layout.places.length}${place.size ? `, size ${place.size}` : ""}: ${mm(place.yUm)} mm along, ${mm(place.xUm)} mm across${place.angleMdeg > 0 ? `, turned by ${units.number(place.angleMdeg / 1000, 1)}°` : ""}${place.locked ? ", locked" : ""}${wrong.has(chosen) ? ". It can not be cut here." : ""}`
          : "Point at a design, or choose one with Page Down. Arrows move it by 1 mm, with Shift by 10, with Alt by 0.1; L locks, T turns; + and − look closer and farther."}
      </p>
    </div>
  );
}
