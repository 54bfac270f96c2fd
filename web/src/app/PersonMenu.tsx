import { useEffect, useRef, useState } from "react";
import { Link, useLocation } from "wouter";
import { classes } from "../kit/classes.ts";
import { faultOf } from "./fault.ts";
import { paths } from "./paths.ts";
import type { NavigationEntry } from "./route.ts";
import styles from "./Shell.module.css";
import type { Person } from "./session.tsx";

type PersonMenuProps = {
  person: Person | null;
  entries: readonly NavigationEntry[];
  onSignOut: () => Promise<void>;
};

/** PersonMenu says who is signed in and leads to settings and the way out. */
export function PersonMenu({ person, entries, onSignOut }: PersonMenuProps) {
  const [open, setOpen] = useState(false);
  const [failure, setFailure] = useState("");
  const [at] = useLocation();
  const element = useRef<HTMLDivElement>(null);

  // The menu closes because the address changed.
  useEffect(() => setOpen(false), [at]);
  useEffect(() => {
    if (!open) return;
    const outside = (event: Event) => {
      if (!element.current?.contains(event.target as Node)) setOpen(false);
    };
    document.addEventListener("pointerdown", outside);
    document.addEventListener("focusin", outside);
    return () => {
      document.removeEventListener("pointerdown", outside);
      document.removeEventListener("focusin", outside);
    };
  }, [open]);

  const called = person ? person.title || person.email : "Not signed in";

  async function leave() {
    try {
      await onSignOut();
      setOpen(false);
    } catch (error) {
      setFailure(faultOf(error).words);
    }
  }
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: Esc closes the menu from any entry inside it
    <div
      ref={element}
      className={styles.person}
      onKeyDown={(event) => {
        if (event.key !== "Escape" || !open) return;
        setOpen(false);
        element.current?.querySelector("button")?.focus();
      }}
    >
      <button
        type="button"
        className={styles.personButton}
        aria-expanded={open}
        onClick={() => setOpen(!open)}
      >
        <span className={styles.personName}>{called}</span>
        <span className={styles.initials} aria-hidden="true">
          {initialsOf(called)}
        </span>
        <svg viewBox="0 0 12 8" aria-hidden="true" className={classes(styles.chevron, open && styles.turned)}>
          <path d="m1.500 1.500 4.500 4.500 4.500-4.500" fill="none" stroke="currentColor" strokeWidth="2" />
        </svg>
      </button>
      {open && (
        <ul className={styles.personMenu}>
          {person && (
            <li className={styles.who}>
              {person.title}
              <small>{person.email}</small>
            </li>
          )}
          {entries.map((entry) => (
            <li key={entry.to}>
              <Link href={entry.to}>{entry.words}</Link>
            </li>
          ))}
          <li>
            {person ? (
              <button type="button" onClick={leave}>
                Sign out
              </button>
            ) : (
              <Link href={paths.signIn}>Sign in</Link>
            )}
          </li>
          {failure && <li role="alert">{failure}</li>}
        </ul>
      )}
    </div>
  );
}

/** initialsOf gives at most two letters, for screens too narrow for a name. */
function initialsOf(called: string): string {
  const letters = called.split(/[\s.@-]+/).map((word) => word.charAt(0).toUpperCase());
  return letters.slice(0, 2).join("");
}
