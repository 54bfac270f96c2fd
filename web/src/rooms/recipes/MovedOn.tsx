import { useState } from "react";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Choice } from "../../kit/Field.tsx";
import { Notice } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { clash, withPaths } from "./content.ts";
import styles from "./Pictures.module.css";
import { differences } from "./writing.ts";

type MovedOnProps = {
  /** What both started from. */
  base: Content;
  theirs: Content;
  mine: Content;
  saver: string;
  /** Hands back everything that was typed, put together with what the other person saved. */
  onJoin: (joined: Content) => void;
};

/** MovedOn shows both sides where another person saved first. Nothing typed is lost and nothing is chosen silently. */
export function MovedOn({ base, theirs, mine, saver, onJoin }: MovedOnProps) {
  const units = useUnits();
  const [chosen, setChosen] = useState<ReadonlyMap<string, "mine" | "theirs">>(new Map());
  const { both, onlyMine, onlyTheirs } = clash(base, theirs, mine);
  const rows = differences(theirs, mine, units).filter((row) => row.change !== "");
  const started = new Map(differences(base, mine, units).map((row) => [row.field.path, row.left]));
  const open = both.filter((path) => !chosen.has(path));
  const where = (path: string) =>
    both.includes(path) ? "both changed it" : onlyMine.includes(path) ? "only you" : `only ${saver}`;
  return (
    <Part title="Two people changed this draft">
      <Notice kind="caution" live title={`${saver} saved this draft while you were writing.`}>
        <p>
          Nothing that you typed is lost. Changes that do not meet are kept from both
          {both.length > 0 ? "; where both of you changed the same field, choose." : "."}
        </p>
      </Notice>
      <Table
        caption={`What you typed against what ${saver} saved`}
        rows={rows}
        keyOf={(row) => row.field.path}
        marked={(row) => both.includes(row.field.path)}
        empty="Both say the same."
        columns={[
          { key: "field", words: "Field", heads: true, cell: (row) => row.field.words },
          {
            key: "base",
            words: "Both began with",
            cell: (row) => <span className={styles.lines}>{started.get(row.field.path)}</span>,
          },
          {
            key: "mine",
            words: "You typed",
            cell: (row) => <span className={styles.lines}>{row.right}</span>,
          },
          {
            key: "theirs",
            words: `${saver} saved`,
            cell: (row) => <span className={styles.lines}>{row.left}</span>,
          },
          { key: "who", words: "Who changed it", cell: (row) => where(row.field.path) },
        ]}
      />
      {rows
        .filter((row) => both.includes(row.field.path))
        .map((row) => (
          <Choice
            key={row.field.path}
            label={row.field.words}
            row
            value={chosen.get(row.field.path) ?? ""}
            options={[
              { value: "mine", words: `Keep mine: ${row.right}` },
              { value: "theirs", words: `Take theirs: ${row.left}` },
            ]}
            onChange={(side) => setChosen(new Map(chosen).set(row.field.path, side))}
          />
        ))}
      {onlyTheirs.length > 0 && (
        <p>
          Taken over from {saver}: {onlyTheirs.length}. Kept from you: {onlyMine.length}.
        </p>
      )}
      <Actions>
        <Button
          kind="main"
          because={open.length > 0 ? `Choose a side for ${open.length} more.` : undefined}
          onClick={() => {
            const keep = both.filter((path) => chosen.get(path) === "mine");
            onJoin(withPaths(theirs, mine, [...onlyMine, ...keep]));
          }}
        >
          Go on writing with both
        </Button>
      </Actions>
    </Part>
  );
}
