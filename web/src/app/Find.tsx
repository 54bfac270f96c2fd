import { useState } from "react";
import { Link, useLocation } from "wouter";
import { Dialog } from "../kit/Dialog.tsx";
import { TextField } from "../kit/Field.tsx";
import styles from "./Find.module.css";
import type { NavigationEntry } from "./route.ts";

type FindProps = { open: boolean; onClose: () => void; entries: readonly NavigationEntry[] };

/** Find goes to a screen by a few letters of its name or of its question; Enter opens the first. */
export function Find({ open, onClose, entries }: FindProps) {
  const [text, setText] = useState("");
  const [, go] = useLocation();
  const words = text.toLowerCase().split(/\s+/).filter(Boolean);
  const matching = entries.filter((entry) => {
    const said = `${entry.words} ${entry.question}`.toLowerCase();
    return words.every((word) => said.includes(word));
  });
  const close = () => {
    setText("");
    onClose();
  };
  return (
    <Dialog open={open} onClose={close} title="Find a screen">
      <form
        onSubmit={(event) => {
          event.preventDefault();
          const first = matching[0];
          if (!first) return;
          go(first.to);
          close();
        }}
      >
        <TextField label="Name or question" value={text} onChange={setText} type="search" />
      </form>
      <ul className={styles.found} aria-label="Screens found">
        {matching.map((entry) => (
          <li key={entry.to}>
            <Link href={entry.to} onClick={close}>
              <b>{entry.words}</b>
              <small>{entry.question}</small>
            </Link>
          </li>
        ))}
      </ul>
      <p role="status">{matching.length === 0 ? "None match. Try fewer letters." : ""}</p>
    </Dialog>
  );
}
