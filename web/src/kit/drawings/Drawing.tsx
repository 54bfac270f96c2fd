// The hand all drawings are made by: one stroke weight, paper fill, and one part filled when it changed or is dangerous.
import type { ReactNode } from "react";
import styles from "./Drawing.module.css";

type DrawingProps = {
  /** "width height" of the drawing in its own units. */
  size: readonly [number, number];
  /** What it shows, for those who do not see it. Leave out where the words beside it say the same. */
  title?: string | undefined;
  children: ReactNode;
};

/** Drawing frames one line drawing. Inside, data-fill takes "paper", "shade", "mark", "hot" or "none". */
export function Drawing({ size, title, children }: DrawingProps) {
  const words = title === undefined ? { "aria-hidden": true } : { role: "img", "aria-label": title };
  return (
    <svg className={styles.drawing} viewBox={`0 0 ${size[0]} ${size[1]}`} {...words}>
      {children}
    </svg>
  );
}
