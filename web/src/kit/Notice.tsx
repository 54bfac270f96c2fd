// Notices: what a person must know here. The shape says how serious it is (circle, triangle, octagon), never hue alone.
import { type ReactNode, useEffect, useRef } from "react";
import { Button } from "./Button.tsx";
import { classes } from "./classes.ts";
import { fieldId } from "./Field.tsx";
import type { Fault, FieldFault } from "./fault.ts";
import styles from "./Notice.module.css";

export type NoticeKind = "info" | "caution" | "block";

const shapes: Record<NoticeKind, { word: string; path: ReactNode }> = {
  info: {
    word: "Note",
    path: (
      <>
        <circle cx="12" cy="12" r="9.5" fill="none" stroke="currentColor" strokeWidth="2" />
        <path d="M12 11v6" stroke="currentColor" strokeWidth="2.5" />
        <circle cx="12" cy="7.500" r="1.500" fill="currentColor" />
      </>
    ),
  },
  caution: {
    word: "Caution",
    path: (
      <>
        <path
          d="M12 2.500 22.500 21H1.500Z"
          fill="currentColor"
          stroke="currentColor"
          strokeLinejoin="round"
        />
        <path d="M12 9v6" stroke="var(--caution-ground)" strokeWidth="2.500" />
        <circle cx="12" cy="18" r="1.400" fill="var(--caution-ground)" />
      </>
    ),
  },
  block: {
    word: "Stop",
    path: (
      <>
        <path d="M8 2h8l6 6v8l-6 6H8l-6-6V8Z" fill="currentColor" />
        <path d="M7 12h10" stroke="var(--hot-ground)" strokeWidth="3" />
      </>
    ),
  },
};

type NoticeProps = {
  kind: NoticeKind;
  title: ReactNode;
  children?: ReactNode;
  /** Said aloud when it appears; for what came up by itself. */
  live?: boolean;
};

/** Notice says one thing: "info" to know, "caution" to take care, "block" when it may not go on. */
export function Notice({ kind, title, children, live }: NoticeProps) {
  const shape = shapes[kind];
  return (
    <div className={classes(styles.notice, styles[kind])} role={live ? "status" : undefined} data-whole>
      <svg className={styles.shape} viewBox="0 0 24 24" aria-hidden="true">
        {shape.path}
      </svg>
      <div className={styles.words}>
        <p className={styles.title}>
          <span className="unseen">{shape.word}: </span>
          {title}
        </p>
        {children}
      </div>
    </div>
  );
}

type ErrorSummaryProps = {
  /** All that is wrong, in the order of the screen. Nothing is drawn while it is empty. */
  faults: readonly FieldFault[];
  /** Changes with each try to save, so that the focus comes back every time. */
  attempt: number;
};

/** ErrorSummary lists what is wrong after a try to save, takes the focus, and links to each field. */
export function ErrorSummary({ faults, attempt }: ErrorSummaryProps) {
  const element = useRef<HTMLDivElement>(null);
  const some = faults.length > 0;
  useEffect(() => {
    if (some && attempt >= 0) element.current?.focus();
  }, [some, attempt]);
  if (!some) return null;
  return (
    <div ref={element} className={styles.summary} tabIndex={-1} role="alert" aria-labelledby="error-summary">
      <h2 id="error-summary">There is a problem</h2>
      <ul className={styles.list}>
        {faults.map((fault) => (
          <li key={fault.path + fault.words}>
            <a
              href={`#${fieldId(fault.path)}`}
              onClick={(event) => {
                const input = document.getElementById(fieldId(fault.path));
                if (!input) return;
                event.preventDefault();
                input.focus();
                input.scrollIntoView({ block: "center" });
              }}
            >
              {fault.words}
            </a>
          </li>
        ))}
      </ul>
    </div>
  );
}

const whatToDo: Record<Fault["kind"], string> = {
  NOT_FOUND: "Check the address, or look for it by name.",
  INVALID: "Correct what is marked and send again.",
  MOVED_ON: "Somebody else was first. Load the newest and look again; nothing of yours was sent.",
  NOT_ALLOWED: "Ask somebody who may, or sign in as another person.",
  NOT_SIGNED_IN: "Sign in again. What you typed stays here.",
  NOT_READY: "See what is missing, then try again.",
  TOO_LARGE: "Make it smaller, or split it.",
  GONE: "It is no longer in use. Look for what replaced it.",
  UNAVAILABLE: "A part of the service is away. Try again in a moment.",
  BROKEN: "This is our fault. Try again; if it stays, pass on the reference.",
  UNREACHED: "The network is away. What is saved on this tablet still works.",
};

type FailureProps = {
  fault: Fault;
  /** What was being done, as a heading: "The recipe could not be loaded". */
  title: ReactNode;
  onRetry?: () => void;
  retrying?: boolean;
  /** Further ways out. */
  children?: ReactNode;
};

/** Failure says what could not be done, why, what to do, and the reference to pass on. */
export function Failure({ fault, title, onRetry, retrying = false, children }: FailureProps) {
  // Where no field is marked, "correct what is marked" would send a person looking for nothing.
  const pointless = fault.kind === "INVALID" && fault.fields.length === 0;
  return (
    <div className={classes(styles.notice, styles.failure)} role="alert">
      <svg className={styles.shape} viewBox="0 0 24 24" aria-hidden="true">
        {shapes.block.path}
      </svg>
      <div className={styles.words}>
        <p className={styles.title}>{title}</p>
        <p>
          {fault.words}
          {pointless ? "" : ` ${whatToDo[fault.kind]}`}
        </p>
        {(onRetry || children) && (
          <div className={styles.ways}>
            {onRetry && (
              <Button onClick={onRetry} pending={retrying} pendingWords="Trying…">
                Try again
              </Button>
            )}
            {children}
          </div>
        )}
        {fault.reference !== "" && <small>Reference {fault.reference}</small>}
      </div>
    </div>
  );
}
