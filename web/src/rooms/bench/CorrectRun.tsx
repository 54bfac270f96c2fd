import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths } from "../../app/paths.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Facts, Screen } from "../../kit/Screen.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { type Run, RunsService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { correctionOf, layoutOfRun } from "./correcting.ts";
import { NoBranch } from "./NoBranch.tsx";
import { OutcomeForm } from "./OutcomeForm.tsx";
import { type Outcome, outcomeOfRun } from "./outcome.ts";

const question = "What was really done?";
const lookedAt = 200; // branches.v1 ListRunsRequest.page_size

/** CorrectRun lets the branch's manager correct a run that was reported wrong; both stay on record. */
export default function CorrectRun() {
  const { branch } = usePerson();
  const { run = "" } = useParams<{ run: string }>();
  return branch === "" ? <NoBranch question={question} /> : <Asked branch={branch} id={run} />;
}

function Asked({ branch, id }: { branch: string; id: string }) {
  const network = useNetwork();
  const runs = useQuery(RunsService.method.listRuns, { branch, pageSize: lookedAt });
  const run = runs.data?.runs.find((candidate) => candidate.id === id);
  return (
    <Screen
      question={question}
      state={{ network, ...(runs.data ? { asOf: runs.dataUpdatedAt } : {}) }}
      lead="The run as it was reported stays on record; the correction takes its place in every sum, also in those of the past."
    >
      {runs.error && (
        <Failure
          fault={faultOf(runs.error)}
          title="The run could not be loaded"
          onRetry={() => void runs.refetch()}
          retrying={runs.isFetching}
        />
      )}
      {runs.isPending && <Loading what="the run" rows={4} />}
      {runs.data && !run && (
        <Empty
          title={`It is not among the last ${lookedAt} runs of this branch.`}
          action={<ButtonLink to={paths.bench}>To the bench</ButtonLink>}
        />
      )}
      {run && <One key={run.id} run={run} />}
    </Screen>
  );
}

function One({ run }: { run: Run }) {
  const units = useUnits();
  const queries = useQueryClient();
  const correct = useMutation(RunsService.method.correctRun);
  const [id] = useState(uuid); // one id for this correction, however often Save is pressed
  const layout = layoutOfRun(run);
  const [outcome, setOutcome] = useState<Outcome>(() => outcomeOfRun(run, layout));
  if (run.correctedBy !== "")
    return (
      <Notice kind="info" title="This run was corrected already.">
        <p>Correct the run that took its place.</p>
        <Actions>
          <ButtonLink to={paths.correctRun(run.correctedBy)}>Go to it</ButtonLink>
        </Actions>
      </Notice>
    );
  if (correct.data)
    return (
      <Notice kind="info" title="Corrected." live>
        <p>
          Every comparison counts the correction from now on; asked for an earlier instant, it answers as
          before.
        </p>
        <Actions>
          <ButtonLink kind="main" to={paths.bench}>
            To the bench
          </ButtonLink>
        </Actions>
      </Notice>
    );
  return (
    <>
      <Facts
        facts={[
          { words: "Film", value: `${run.film}, ${run.colour}` },
          {
            words: "Ended",
            value: run.endTime ? showInstant(Number(run.endTime.seconds) * 1000, units.locale) : "–",
          },
          {
            words: "Reported as",
            value: `${units.count(run.goodCount)} good of ${units.count(run.piecesCount)}`,
          },
        ]}
      />
      {correct.error && <Failure fault={faultOf(correct.error)} title="It was not corrected" />}
      <OutcomeForm
        outcome={outcome}
        layout={layout}
        onChange={(to) => setOutcome((was) => ({ ...was, ...to }))}
        onSave={async () => {
          await correct.mutateAsync({ run: correctionOf(run, outcome, id) }).catch(() => null); // shown from error
          await queries.invalidateQueries();
        }}
      />
    </>
  );
}
