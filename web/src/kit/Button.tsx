// Buttons and links that look like them. One main button a screen: it alone carries the accent and the peeled corner.
import type { ComponentProps, ReactNode } from "react";
import { Link } from "wouter";
import styles from "./Button.module.css";
import { classes } from "./classes.ts";

export type ButtonKind = "main" | "quiet" | "danger" | "plain";

type Look = {
  /** "main" once a screen; "quiet" for the others; "danger" for what can not be taken back; "plain" is words only. */
  kind?: ButtonKind;
  /** Takes the whole width, as at the foot of a bench screen. */
  wide?: boolean;
  children: ReactNode;
};

type ButtonProps = Look &
  Omit<ComponentProps<"button">, "className" | "style" | "children"> & {
    /** The act is under way: stays focusable, says so, and does nothing more. */
    pending?: boolean;
    /** Words while pending, e.g. "Saving…". */
    pendingWords?: string;
    /** Why it can not be pressed now. Shown beside it: no bare disabled buttons. */
    because?: string | undefined;
  };

/** Button does something on this screen. */
export function Button(props: ButtonProps) {
  const {
    kind = "quiet",
    wide,
    pending,
    pendingWords = "Working…",
    because,
    children,
    onClick,
    ...rest
  } = props;
  const stopped = pending || because !== undefined;
  const button = (
    <button
      type="button"
      {...rest}
      className={classes(styles.button, styles[kind], wide && styles.wide)}
      aria-disabled={stopped || undefined}
      aria-busy={pending || undefined}
      onClick={(event) => {
        if (stopped) event.preventDefault();
        else onClick?.(event);
      }}
    >
      {pending ? pendingWords : children}
    </button>
  );
  if (because === undefined) return button;
  return (
    <span className={classes(styles.refused, wide && styles.wide)}>
      {button}
      <small>{because}</small>
    </span>
  );
}

type ButtonLinkProps = Look & { to: string; "aria-current"?: "page" };

/** ButtonLink goes somewhere and looks like a button. */
export function ButtonLink({ kind = "quiet", wide, to, children, ...rest }: ButtonLinkProps) {
  return (
    <Link href={to} className={classes(styles.button, styles[kind], wide && styles.wide)} {...rest}>
      {children}
    </Link>
  );
}

/** Actions stands buttons in a row; the main one first. */
export function Actions({ children }: { children: ReactNode }) {
  return (
    <div className={styles.actions} data-screen-only>
      {children}
    </div>
  );
}
