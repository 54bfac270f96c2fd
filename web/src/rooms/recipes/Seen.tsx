import { type ReactNode, useEffect, useRef } from "react";
import styles from "./Pictures.module.css";

/** Seen takes the focus when it appears, so that news above a long form is not missed. */
export function Seen({ children, label }: { children: ReactNode; label: string }) {
  const element = useRef<HTMLElement>(null);
  useEffect(() => element.current?.focus(), []);
  return (
    <section ref={element} tabIndex={-1} aria-label={label} className={styles.seen}>
      {children}
    </section>
  );
}
