import styles from "./compare.module.css";
import type { MarkShape } from "./words.ts";

const size = 5; // px, half the width of a point

const triangle = (up: boolean) => {
  const s = (size + 2) * (up ? 1 : -1);
  return `M0 ${-s}L${size + 2} ${s * 0.75}H${-(size + 2)}Z`;
};

/** Point is one branch, one week or one revision: its shape says how it stands. */
export function Point({ x, y, shape }: { x: number; y: number; shape: MarkShape }) {
  const place = { transform: `translate(${x} ${y})`, className: styles.point, "data-shape": shape };
  if (shape === "up" || shape === "down") return <path {...place} d={triangle(shape === "up")} />;
  return <circle {...place} r={size} />;
}
