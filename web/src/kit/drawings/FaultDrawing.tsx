import type { ReactNode } from "react";
import { Drawing } from "./Drawing.tsx";

export const faultKinds = [
  "edgeLifts",
  "wrinkle",
  "scorch",
  "cutTooShallow",
  "cutThroughCarrier",
  "weedingTear",
  "misplaced",
  "colourWrong",
  "filmEnd",
  "other",
] as const;
export type DrawnFault = (typeof faultKinds)[number];

/** Words of each drawn fault, in the order of the digits 1 to 9 and 0. */
export const faultWords: Record<DrawnFault, string> = {
  edgeLifts: "Edge lifts",
  wrinkle: "Wrinkle",
  scorch: "Scorch or shine",
  cutTooShallow: "Cut too shallow",
  cutThroughCarrier: "Cut through carrier",
  weedingTear: "Torn in weeding",
  misplaced: "Misplaced",
  colourWrong: "Wrong colour",
  filmEnd: "Film ran out",
  other: "Something else",
};

const cloth = <rect x="14" y="10" width="92" height="70" rx="4" data-fill="paper" />;
const carrier = <path d="M8 62h104v8H8Z" data-fill="paper" />;

const drawn: Record<DrawnFault, ReactNode> = {
  edgeLifts: (
    <>
      {cloth}
      <path d="M36 24h48v26L68 66H36Z" data-fill="shade" />
      <path d="M84 50c-8 -2 -13 1 -13 6c0 4 -1 7 -3 10l10 2c5 -5 8 -11 6 -18Z" data-fill="hot" />
    </>
  ),
  wrinkle: (
    <>
      {cloth}
      <path d="M34 24h52v42H34Z" data-fill="shade" />
      <path d="M46 66c2 -12 14 -12 14 -22s10 -10 12 -20c4 12 -6 12 -6 22s-10 10 -12 20Z" data-fill="hot" />
    </>
  ),
  scorch: (
    <>
      <path d="M26 18h68v54H26Z" data-fill="hot" />
      <rect x="14" y="10" width="92" height="70" rx="4" />
      <path d="M38 28h44v34H38Z" data-fill="paper" />
    </>
  ),
  cutTooShallow: (
    <>
      {carrier}
      <path d="M8 46h104v16H8Z" data-fill="shade" />
      <path d="M54 62v-8l6 -2l6 2v8Z" data-fill="hot" />
      <path d="M54 12h12v26l-6 14l-6 -14Z" data-fill="paper" />
    </>
  ),
  cutThroughCarrier: (
    <>
      {carrier}
      <path d="M8 46h104v16H8Z" data-fill="shade" />
      <path d="M54 62h12v4l-6 14l-6 -14Z" data-fill="hot" />
      <path d="M54 8h12v58l-6 14l-6 -14Z" />
    </>
  ),
  weedingTear: (
    <>
      <rect x="14" y="10" width="92" height="70" />
      <path d="M36 22h48v16l-9 5l7 6l-8 6l6 12H36Z" data-fill="shade" />
      <path d="M84 38l-9 5l7 6l-8 6l6 12h14V46Z" data-fill="hot" />
    </>
  ),
  misplaced: (
    <>
      {cloth}
      <path d="M40 26h40v34H40Z" data-line="dash" />
      <path d="M58 36l40 8l-7 33l-40 -8Z" data-fill="hot" />
    </>
  ),
  colourWrong: (
    <>
      {cloth}
      <path d="M28 24h30v42H28Z" data-fill="shade" />
      <path d="M62 24h30v42H62Z" data-fill="hot" />
    </>
  ),
  filmEnd: (
    <>
      <circle cx="32" cy="40" r="16" data-fill="paper" />
      <circle cx="32" cy="40" r="8" data-fill="paper" />
      <path d="M32 56h38l5 5l-5 4l5 5H32Z" data-fill="shade" />
      <path d="M70 56h38v14H75l-5 -5l5 -4Z" data-line="dash" />
      <path d="M84 44l8 8l8 -8" />
    </>
  ),
  other: (
    <>
      {cloth}
      <circle cx="42" cy="45" r="3" data-fill="mark" />
      <circle cx="60" cy="45" r="3" data-fill="mark" />
      <circle cx="78" cy="45" r="3" data-fill="mark" />
    </>
  ),
};

/** FaultDrawing shows one fault, the faulty part filled, so that it is found without reading. */
export function FaultDrawing({ kind, titled }: { kind: DrawnFault; titled?: boolean }) {
  return (
    <Drawing size={[120, 90]} title={titled ? faultWords[kind] : undefined}>
      {drawn[kind]}
    </Drawing>
  );
}
