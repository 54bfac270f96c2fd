// Shell is what stands around every screen: the way past it, the wordmark, where a person may go, Find, and who they are.
import { type ReactNode, useEffect, useState } from "react";
import { Link, useLocation } from "wouter";
import { classes } from "../kit/classes.ts";
import { Wordmark } from "../kit/drawings/Wordmark.tsx";
import { Find } from "./Find.tsx";
import { NewerPage } from "./NewerPage.tsx";
import { PersonMenu } from "./PersonMenu.tsx";
import { paths } from "./paths.ts";
import type { NavigationEntry } from "./route.ts";
import styles from "./Shell.module.css";
import type { Person } from "./session.tsx";

type ShellProps = {
  /** The row, and the entries for everyone that stand in the person menu. */
  navigation: readonly NavigationEntry[];
  person: Person | null;
  place: "desk" | "bench";
  onSignOut: () => Promise<void>;
  children: ReactNode;
};

/** mayGo keeps the entries that this person needs. */
export function mayGo(
  entries: readonly NavigationEntry[],
  person: Person | null,
): readonly NavigationEntry[] {
  return entries.filter(
    (entry) =>
      entry.for === "everyone" || (person !== null && entry.for.some((role) => person.roles.includes(role))),
  );
}

export function Shell({ navigation, person, place, onSignOut, children }: ShellProps) {
  const [at] = useLocation();
  const [menuOpen, setMenuOpen] = useState(false);
  const [finding, setFinding] = useState(false);
  const entries = mayGo(navigation, person);
  const row = entries.filter((entry) => entry.for !== "everyone");

  // The menu closes because the address changed.
  useEffect(() => setMenuOpen(false), [at]);
  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (event.key.toLowerCase() !== "k" || !(event.ctrlKey || event.metaKey)) return;
      event.preventDefault();
      setFinding(true);
    };
    window.addEventListener("keydown", onKey);
    return () => window.removeEventListener("keydown", onKey);
  }, []);

  const here = (to: string) => at === to || (to !== "/" && at.startsWith(`${to}/`));
  // The entry whose address is longest among those that hold this place: /compare/film is not also /compare.
  const nearest = row.filter((entry) => here(entry.to)).toSorted((a, b) => b.to.length - a.to.length)[0];

  return (
    <>
      <a className={styles.skip} href="#main">
        Skip to the screen
      </a>
      <header className={styles.header} data-screen-only>
        <div className={styles.inner}>
          <Link href={paths.start} className={styles.home} aria-label="Evenpeel, start">
            <Wordmark />
          </Link>
          {row.length > 0 && (
            <>
              <button
                type="button"
                className={styles.menuButton}
                aria-expanded={menuOpen}
                aria-controls="navigation"
                onClick={() => setMenuOpen(!menuOpen)}
              >
                Menu
              </button>
              <nav
                id="navigation"
                className={classes(styles.nav, menuOpen && styles.open)}
                aria-label="Screens"
              >
                <ul className={styles.row}>
                  {row.map((entry) => (
                    <li key={entry.to}>
                      <Link href={entry.to} aria-current={entry === nearest ? "page" : undefined}>
                        {entry.words}
                      </Link>
                    </li>
                  ))}
                </ul>
              </nav>
            </>
          )}
          <div className={styles.end}>
            <button type="button" className={styles.find} onClick={() => setFinding(true)}>
              Find <kbd>Ctrl K</kbd>
            </button>
            <PersonMenu
              person={person}
              entries={entries.filter((entry) => entry.for === "everyone")}
              onSignOut={onSignOut}
            />
          </div>
        </div>
        <div className={styles.ruler} aria-hidden="true" />
      </header>
      <main id="main" className={styles.main} tabIndex={-1} data-place={place}>
        <NewerPage at={at} />
        {children}
      </main>
      <Find open={finding} onClose={() => setFinding(false)} entries={entries} />
    </>
  );
}
