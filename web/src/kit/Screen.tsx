// Screen sets the order that every screen keeps: state line, the one question, the picture or the number,
// the main action, the detail.
import { type ReactNode, useEffect } from "react";
import { showAge } from "../units/durations.ts";
import { classes } from "./classes.ts";
import { useNow } from "./now.ts";
import styles from "./Screen.module.css";

export type State = {
  /** When what is shown was true: milliseconds since 1970. Left out where nothing ages. */
  asOf?: number;
  /** Revision, release or whatever names what is shown: "card 8F-21, revision 6". */
  revision?: ReactNode;
  /** "saved" means: from this tablet, because the network is away. */
  network?: "here" | "away" | "saved";
};

const networkWords = {
  here: "online",
  away: "network away",
  saved: "working from what is saved here",
} as const;

/** StateLine says how old, which revision, and whether the network is here. It stands first on every screen. */
export function StateLine({ asOf, revision, network = "here" }: State) {
  const now = useNow(30_000);
  return (
    <p className={classes(styles.state, network !== "here" && styles.away)}>
      <span className={styles.network}>
        <svg viewBox="0 0 12 12" aria-hidden="true">
          <circle
            cx="6"
            cy="6"
            r="4.750"
            fill={network === "here" ? "currentColor" : "none"}
            stroke="currentColor"
            strokeWidth="1.500"
          />
          {network === "away" && <path d="M2 10 10 2" stroke="currentColor" strokeWidth="1.500" />}
        </svg>
        {networkWords[network]}
      </span>
      {revision !== undefined && <span>{revision}</span>}
      {asOf !== undefined && <time dateTime={new Date(asOf).toISOString()}>{showAge(asOf, now)}</time>}
    </p>
  );
}

type ScreenProps = {
  /** The one question this screen answers, or the thing it shows; becomes h1 and the title of the tab. */
  question: string;
  state?: State;
  /** Whether the last try to save failed: GOV.UK style, the tab's title says so too. */
  failed?: boolean;
  /** A sentence under the question. */
  lead?: ReactNode;
  /** Small actions of the whole screen: print, copy link. */
  aside?: ReactNode;
  children: ReactNode;
};

/** Screen frames one screen of a room. */
export function Screen({ question, state, failed, lead, aside, children }: ScreenProps) {
  useEffect(() => {
    document.title = `${failed ? "Error: " : ""}${question} · Evenpeel`;
  }, [question, failed]);
  return (
    <div className={styles.screen}>
      <header className={styles.head}>
        {state && <StateLine {...state} />}
        <div className={styles.question}>
          <h1>{question}</h1>
          {aside && (
            <div className={styles.aside} data-screen-only>
              {aside}
            </div>
          )}
        </div>
        {lead && <p className={styles.lead}>{lead}</p>}
      </header>
      {children}
    </div>
  );
}

/** Part is one section of a screen under its own heading. */
export function Part({
  title,
  children,
  aside,
}: {
  title: ReactNode;
  children: ReactNode;
  aside?: ReactNode;
}) {
  return (
    <section className={styles.part}>
      <div className={styles.question}>
        <h2>{title}</h2>
        {aside}
      </div>
      {children}
    </section>
  );
}

type FigureProps = {
  /** The number, already written in the person's language. */
  number: string;
  unit?: string;
  words: ReactNode;
  /** Small note: window, dial step, rounding. */
  note?: ReactNode;
  /** The changed or dangerous one; say why in `note`. */
  hot?: boolean;
};

/** Figure is a number a person came for, read at arm's length; on the bench from two metres. */
export function Figure({ number, unit, words, note, hot }: FigureProps) {
  return (
    <div className={classes(styles.figure, hot && styles.hot)}>
      <dt>{words}</dt>
      <dd>
        <span className={styles.number}>
          {number}
          {unit && <span className={styles.unit}>{`\u00a0${unit}`}</span>}
        </span>
        {note && <small>{note}</small>}
      </dd>
    </div>
  );
}

/** Figures stands Figure beside Figure. */
export function Figures({ children }: { children: ReactNode }) {
  return <dl className={styles.figures}>{children}</dl>;
}

/** Facts lists plain facts: word on the left, value on the right. */
export function Facts({ facts }: { facts: readonly { words: ReactNode; value: ReactNode }[] }) {
  return (
    <dl className={styles.facts}>
      {facts.map((fact, at) => (
        <div key={at}>
          <dt>{fact.words}</dt>
          <dd>{fact.value}</dd>
        </div>
      ))}
    </dl>
  );
}
