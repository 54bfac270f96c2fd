import { useUnits } from "../../kit/choices.ts";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import type { Trial } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showDate } from "../../units/durations.ts";
import { trialField } from "./trialFields.ts";
import { writeValue } from "./writing.ts";

/** Trials lists the evidence that a draft or revision carries. */
export function Trials({ trials, none }: { trials: readonly Trial[]; none: string }) {
  const units = useUnits();
  const columns = trialField.as === "rows" ? trialField.columns : [];
  const write = (path: string, value: unknown) => {
    const column = columns.find((one) => one.path === path);
    return column ? writeValue(column, value, units, "XXX") : "";
  };
  const garments = trials.reduce((sum, trial) => sum + trial.garmentsCount, 0n);
  const title =
    trials.length === 0
      ? "What was tried"
      : `What was tried: ${units.count(garments)} ${garments === 1n ? "garment" : "garments"}`;
  return (
    <Part title={title}>
      {trials.length === 0 ? (
        <p>{none}</p>
      ) : (
        <Table
          caption="Trials"
          quietCaption
          rows={trials}
          keyOf={(trial) => `${trial.day} ${trial.tester} ${trials.indexOf(trial)}`}
          marked={(trial) => trial.outcome !== "held"}
          columns={[
            {
              key: "outcome",
              words: "What became of it",
              heads: true,
              cell: (trial) => write("outcome", trial.outcome),
            },
            {
              key: "garments",
              words: "Garments",
              figure: true,
              cell: (trial) => units.count(trial.garmentsCount),
            },
            {
              key: "wash",
              words: "Washed and dried",
              cell: (trial) =>
                trial.cycles === 0n
                  ? "not washed"
                  : `${units.count(trial.cycles)} × ${write("wash_procedure", trial.washProcedure)}; ${write("dry_procedure", trial.dryProcedure)}`,
            },
            {
              key: "who",
              words: "By and on",
              cell: (trial) => `${trial.tester}, ${showDate(trial.day, units.locale)}`,
            },
            { key: "seen", words: "Seen", cell: (trial) => trial.words || "–" },
          ]}
        />
      )}
      <small>
        A trial here is no laboratory’s finding: accredited laboratories decide where law asks for one.
      </small>
    </Part>
  );
}
