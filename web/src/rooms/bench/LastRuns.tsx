import { Link } from "wouter";
import { paths } from "../../app/paths.ts";
import { usePerson } from "../../app/session.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { type Run, RunsService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { showMoment } from "../../units/durations.ts";
import { millimetres } from "../../units/quantities.ts";
import { useSaved } from "./saved.ts";

const shown = 10;

/** LastRuns lists what this branch reported last. */
export function LastRuns({ branch, order }: { branch: string; order?: string }) {
  const units = useUnits();
  const corrects = usePerson().roles.includes(Role.BRANCH_MANAGER);
  const asked = { branch, pageSize: order ? 50 : shown };
  const runs = useSaved(RunsService.method.listRuns, asked, `runs:${branch}:${asked.pageSize}`);
  const rows = (runs.data?.runs ?? []).filter((run) => !order || run.order === order).slice(0, shown);
  const reprints = (run: Run) => run.reprints.reduce((sum, { count }) => sum + count, 0n);
  return (
    <Part title={order ? "Runs of this order" : "Last runs"}>
      {!runs.data && runs.fault && (
        <Failure
          fault={runs.fault}
          title="The runs could not be loaded"
          onRetry={runs.retry}
          retrying={runs.retrying}
        />
      )}
      {!runs.data && !runs.fault && <Loading what="the runs" />}
      {runs.data && (
        <Table
          caption="Runs, newest first"
          quietCaption
          rows={rows}
          keyOf={(run) => run.id}
          locale={units.locale}
          empty="No run reported yet. After the last garment, Outcome reports one."
          columns={[
            {
              key: "when",
              words: "Ended",
              heads: true,
              cell: (run) =>
                run.endTime ? showMoment(Number(run.endTime.seconds) * 1_000, units.locale) : "–",
              sortBy: (run) => run.endTime?.seconds ?? 0n,
            },
            { key: "film", words: "Film", cell: (run) => `${run.film} ${run.colour}`.trim() },
            {
              key: "drawn",
              words: "Drawn",
              figure: true,
              cell: (run) => units.show("rollLength", millimetres(run.drawnMm)),
            },
            { key: "good", words: "Good", figure: true, cell: (run) => units.count(run.goodCount) },
            {
              key: "reprints",
              words: "Reprints",
              figure: true,
              cell: (run) => units.count(reprints(run)),
            },
            ...(corrects
              ? [
                  {
                    key: "correct",
                    words: "Wrong?",
                    cell: (run: Run) =>
                      run.correctedBy !== "" ? (
                        "corrected"
                      ) : (
                        <Link href={paths.correctRun(run.id)}>
                          Correct<span className="unseen"> the run of {run.film}</span>
                        </Link>
                      ),
                  },
                ]
              : []),
          ]}
        />
      )}
    </Part>
  );
}
