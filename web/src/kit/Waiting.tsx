// What stands where nothing stands yet: empty, loading, and a line that says what was just done.
import { type ReactNode, useEffect, useState } from "react";
import styles from "./Waiting.module.css";

type EmptyProps = {
  /** What is missing: "No recipe yet." or "None match." Keep the two apart. */
  title: ReactNode;
  /** Why, and what comes next. */
  children?: ReactNode;
  /** The way on. */
  action?: ReactNode;
  /** A drawing of what would be here. */
  picture?: ReactNode;
};

/** Empty says what is missing, why, and what to do. */
export function Empty({ title, children, action, picture }: EmptyProps) {
  return (
    <div className={styles.empty}>
      {picture && <div className={styles.picture}>{picture}</div>}
      <p className={styles.title}>{title}</p>
      {children && <div className={styles.why}>{children}</div>}
      {action}
    </div>
  );
}

const patienceMs = 600; // below this a flash of "loading" disturbs more than it tells

type LoadingProps = { what: string; rows?: number };

/** Loading shows nothing for 0.6 s, then the outline of what comes. */
export function Loading({ what, rows = 4 }: LoadingProps) {
  const [slow, setSlow] = useState(false);
  useEffect(() => {
    const timer = setTimeout(() => setSlow(true), patienceMs);
    return () => clearTimeout(timer);
  }, []);
  return (
    <div className={styles.loading} aria-busy="true">
      <p role="status" className="unseen">
        {slow ? `Loading ${what}…` : ""}
      </p>
      {slow && (
        <div className={styles.bars} aria-hidden="true">
          {Array.from({ length: rows }, (_, at) => (
            <span key={at} style={{ inlineSize: `${92 - ((at * 29) % 50)}%` }} />
          ))}
        </div>
      )}
    </div>
  );
}

/** Status is said aloud and stays: no toast that is gone before it is read. Empty children say nothing. */
export function Status({ children }: { children: ReactNode }) {
  return (
    <p role="status" className={styles.status}>
      {children}
    </p>
  );
}

/** The three words of keeping. They are never mixed: each promises something else. */
export type Keeping = "on this tablet" | "sent" | "confirmed";

const keepingWords: Record<Keeping, string> = {
  "on this tablet": "saved on this tablet",
  sent: "sent",
  confirmed: "confirmed",
};

/** KeepingMark shows how far an entry has come: empty, half and full, with its word. */
export function KeepingMark({ keeping }: { keeping: Keeping }) {
  return (
    <span className={styles.keeping}>
      <svg viewBox="0 0 16 16" aria-hidden="true">
        <circle cx="8" cy="8" r="6.500" fill="none" stroke="currentColor" strokeWidth="1.750" />
        {keeping === "sent" && <path d="M8 1.500a6.500 6.500 0 0 0 0 13Z" fill="currentColor" />}
        {keeping === "confirmed" && <circle cx="8" cy="8" r="6.500" fill="currentColor" />}
        {keeping === "confirmed" && (
          <path
            d="m4.700 8.300 2.300 2.300 4.300-4.800"
            fill="none"
            stroke="var(--ground)"
            strokeWidth="1.750"
          />
        )}
      </svg>
      {keepingWords[keeping]}
    </span>
  );
}
