// Preview says what a release would change before anybody puts a name to it: differences in words, what follows at the
// branches, and the instant by every clock that it will be read from.

import { Notice } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type {
  PreviewChange,
  PreviewReleaseResponse,
} from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import styles from "./Releases.module.css";
import { useTitles } from "./useTitles.ts";
import { partsOf } from "./writing.ts";

type PreviewProps = {
  preview: PreviewReleaseResponse;
  /** What was to be thought of when the plan was filled in. */
  besides?: readonly string[];
};

export function Preview({ preview, besides = [] }: PreviewProps) {
  const { changes, instants, silentBranches } = preview;
  const cautions = [...new Set([...besides, ...preview.cautions])];
  const titles = useTitles();
  return (
    <>
      <p className={styles.instant}>
        Changes something at {String(preview.changedBranchesCount)} of {String(preview.branchesCount)}{" "}
        {preview.branchesCount === 1n ? "branch" : "branches"}.
      </p>
      {cautions.length > 0 && (
        <Notice
          kind="caution"
          title={
            cautions.length === 1 ? "One thing to think about" : `${cautions.length} things to think about`
          }
        >
          <ul>
            {cautions.map((words) => (
              <li key={words}>{words}</li>
            ))}
          </ul>
        </Notice>
      )}
      {changes.length === 0 && <p>Nothing would change: all of it is in force there already.</p>}
      {changes.map((change) => (
        <Change key={`${change.record} ${change.before}`} change={change} />
      ))}
      {instants.length > 0 && (
        <Table
          caption="The instant by the clocks there"
          rows={instants}
          keyOf={({ zone }) => zone}
          columns={[
            { key: "zone", words: "Zone", heads: true, cell: ({ zone }) => zone },
            { key: "when", words: "When", cell: ({ words }) => words },
            {
              key: "branches",
              words: "Branches",
              figure: true,
              cell: ({ branchesCount }) => String(branchesCount),
            },
          ]}
        />
      )}
      {silentBranches.length > 0 && (
        <p>Not heard from lately, so the news reaches them late: {silentBranches.map(titles).join(", ")}.</p>
      )}
    </>
  );
}

const numberWords = (revision: string) => `revision ${partsOf(revision)?.number ?? revision}`;

function Change({ change }: { change: PreviewChange }) {
  const { consequences } = change;
  const titles = useTitles();
  const refusals = consequences?.refusals ?? [];
  const fresh = refusals.filter(({ heldBefore }) => heldBefore);
  const seconds = Number(consequences?.secondsPerGarmentDelta ?? 0n);
  const follows = [
    seconds !== 0 && `about ${Math.abs(seconds)} s ${seconds > 0 ? "more" : "less"} a garment at the press`,
    refusals.length > 0 &&
      `${refusals.length} of ${consequences?.machinesCount} machines can not hold it${fresh.length < refusals.length ? `, ${fresh.length} of them new` : ""}`,
    ...(consequences?.priceWords ?? []),
  ].filter((words) => words !== false);
  const step =
    change.after === ""
      ? `${numberWords(change.before)} is taken out of force`
      : change.before === ""
        ? `${numberWords(change.after)}, new there`
        : `${numberWords(change.before)} → ${numberWords(change.after)}`;
  return (
    <Part title={`${change.title || change.record}: ${step}`}>
      <p>
        At {String(change.branchesCount)} {change.branchesCount === 1n ? "branch" : "branches"}
        {follows.length > 0 ? `: ${follows.join("; ")}.` : "."}
      </p>
      {change.differences.length > 0 && (
        <ul className={styles.differences}>
          {change.differences.map(({ path, words }) => (
            <li key={path}>{words}</li>
          ))}
        </ul>
      )}
      {refusals.length > 0 && (
        <details>
          <summary>Machines that can not hold it ({refusals.length})</summary>
          <ul className={styles.differences}>
            {refusals.map(({ machine, title, words, heldBefore }) => (
              <li key={machine}>
                {title} at {titles(machine.split("/").slice(0, 2).join("/"))}: {words}
                {heldBefore ? " It holds the one in force now." : ""}
              </li>
            ))}
          </ul>
        </details>
      )}
    </Part>
  );
}
