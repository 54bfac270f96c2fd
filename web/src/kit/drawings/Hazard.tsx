import type { ReactNode } from "react";
import { Notice } from "../Notice.tsx";
import styles from "./Hazard.module.css";

export const hazardKinds = ["hot", "pinch", "fumes", "blade"] as const;
export type HazardKind = (typeof hazardKinds)[number];

const words: Record<HazardKind, string> = {
  hot: "Hot platen: gloves, keep hands and cords clear.",
  pinch: "Pinch: keep fingers out while it closes.",
  fumes: "Fumes: air the room; stop if eyes or throat sting.",
  blade: "Blade: cap it, and change it with the power off.",
};

const signs: Record<HazardKind, ReactNode> = {
  hot: <path d="M14 35h20M18 30c-3 -4 3 -6 0 -11M24 30c-3 -4 3 -6 0 -13M30 30c-3 -4 3 -6 0 -11" />,
  pinch: <path d="M15 36h18M19 20h10M24 13v4M24 22v5M24 34v-2M21 24l3 3l3 -3M13 30h6a3 3 0 0 0 0 -3" />,
  fumes: <path d="M14 35h20M16 30c4 -3 6 3 10 0s5 1 7 -1M19 25c3 -3 5 2 8 0s3 0 3 0M22 20c2 -2 3 1 5 -1" />,
  blade: <path d="M17 35l11 -16l4 3l-9 13ZM14 36h20" />,
};

/** HazardSign is the triangle alone. */
export function HazardSign({ kind, titled }: { kind: HazardKind; titled?: boolean }) {
  const name = titled ? { role: "img", "aria-label": words[kind] } : { "aria-hidden": true };
  return (
    <svg className={styles.sign} viewBox="0 0 48 44" {...name}>
      <path className={styles.ground} d="M24 3 45.500 41h-43Z" />
      <g className={styles.glyph}>{signs[kind]}</g>
    </svg>
  );
}

/** Hazards stand where the work is: one line each, with local rules put first. */
export function Hazards({ kinds, extra }: { kinds: readonly HazardKind[]; extra?: ReactNode }) {
  return (
    <div className={styles.hazards}>
      <ul className={styles.list}>
        {kinds.map((kind) => (
          <li key={kind}>
            <HazardSign kind={kind} />
            {words[kind]}
          </li>
        ))}
      </ul>
      {extra}
      <small>The maker’s manual and the law where you work come first.</small>
    </div>
  );
}

/** ChildGarmentNotice stands wherever a child's garment is planned, pressed or labelled. */
export function ChildGarmentNotice({ children }: { children?: ReactNode }) {
  return (
    <Notice kind="caution" title="This is a child’s garment.">
      <p>
        {children} No cords, small parts or sharp edges may be added. This is a help, not legal advice: local
        law and an accredited laboratory decide.
      </p>
    </Notice>
  );
}
