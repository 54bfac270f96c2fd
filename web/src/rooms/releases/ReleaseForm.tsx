import { useMutation, useQuery } from "@connectrpc/connect-query";
import { keepPreviousData, useQueryClient } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { useLocation } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, withQuery } from "../../app/paths.ts";
import { mayApprove } from "../../app/roles.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Choice, TextField } from "../../kit/Field.tsx";
import type { FieldFault } from "../../kit/fault.ts";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import type { RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { ReleaseService } from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { type Candidate, candidatesOf } from "./candidates.ts";
import { Preview } from "./Preview.tsx";
import { faultsOf, instantOf, markets, type Planned, planOf } from "./planning.ts";
import styles from "./Releases.module.css";
import { Ticks } from "./Ticks.tsx";

type ReleaseFormProps = {
  records: readonly RecordSummary[];
  start: Planned;
  /** Things to think about that came with the start. */
  cautions: readonly string[];
};

/** ReleaseForm asks what, where and from when, shows what would change, and releases it or asks a second person. */
export function ReleaseForm({ records, start, cautions }: ReleaseFormProps) {
  const approver = mayApprove(usePerson());
  const { locale } = useUnits();
  const [, go] = useLocation();
  const queries = useQueryClient();
  const branches = useQuery(BranchesService.method.listBranches, {});
  const release = useMutation(DeskService.method.createRelease);
  const propose = useMutation(ReleaseService.method.proposeRelease);
  const [planned, setPlanned] = useState(start);
  const [attempt, setAttempt] = useState(0);
  const [requestId] = useState(uuid);
  const change = (part: Partial<Planned>) => setPlanned({ ...planned, ...part });

  const faults = faultsOf(planned);
  const error = release.error ?? propose.error;
  const failure = error ? faultOf(error) : null;
  const plan = planOf(planned);
  const preview = useQuery(
    ReleaseService.method.previewRelease,
    { plan: { ...plan, reason: "" } }, // the reason changes nothing, and is typed letter by letter
    { enabled: faults.length === 0, placeholderData: keepPreviousData },
  );
  const unclear = preview.error ? faultOf(preview.error) : null;
  // What only the service knows to be wrong is marked where it is, too.
  const told = faults.length > 0 ? [] : toldOf((failure ?? unclear)?.fields ?? []);
  const shown = attempt > 0 ? [...faults, ...told] : [];
  const wrong = (path: string) => [...shown, ...told].find((fault) => fault.path === path)?.words;
  const candidates = candidatesOf(records, [...start.revisions]);
  // What is in force already is mostly not what somebody came to release.
  const near = candidates.filter((one) => one.chosen || one.inForce.length === 0);
  const others = candidates.filter((one) => !near.includes(one));
  const inForce = records.filter((record) => record.inForce.length > 0);
  const at = instantOf(planned.local);

  if (candidates.length === 0)
    return (
      <Empty
        title="Nothing is approved yet."
        action={<ButtonLink to={paths.secondLooks}>Second looks</ButtonLink>}
      >
        <p>A draft is approved by a second look; then it can be released.</p>
      </Empty>
    );

  async function send() {
    setAttempt((count) => count + 1);
    if (faults.length > 0) return;
    const answer = await release.mutateAsync({ ...plan, requestId }).catch(() => null); // shown from error
    if (!answer?.release) return;
    await queries.invalidateQueries();
    go(withQuery(paths.release(Number(answer.release.number)), { done: "yes" }));
  }
  async function ask() {
    setAttempt((count) => count + 1);
    if (faults.length > 0) return;
    const answer = await propose.mutateAsync({ plan, requestId }).catch(() => null); // shown from error
    if (!answer?.proposal) return;
    await queries.invalidateQueries();
    go(withQuery(paths.releases, { asked: "yes" }));
  }

  return (
    <form
      className={styles.form}
      noValidate
      onSubmit={(event: FormEvent) => {
        event.preventDefault();
        void (approver ? send() : ask());
      }}
    >
      <ErrorSummary faults={shown} attempt={attempt} />
      {failure && <Failure title="It was not released" fault={failure} />}
      {planned.widens > 0n && (
        <p>Widens release {String(planned.widens)}, which a few branches tried, to the branches below.</p>
      )}
      <Ticks
        legend="Revisions to put in force"
        path="revisions"
        fault={wrong("revisions")}
        options={near.map(optionOf)}
        chosen={planned.revisions}
        onChange={(revisions) => change({ revisions })}
      />
      {others.length > 0 && (
        <details open={near.length === 0}>
          <summary>Put in force again what is in force somewhere ({others.length})</summary>
          <Ticks
            legend="Newest revisions that are in force somewhere"
            path="others"
            fault={undefined}
            options={others.map(optionOf)}
            chosen={planned.revisions}
            onChange={(revisions) => change({ revisions })}
          />
        </details>
      )}
      <details open={start.withdrawn.size > 0}>
        <summary>Take something out of force</summary>
        <Ticks
          legend="Records to take out of force, without another revision in their place"
          path="withdrawn"
          fault={undefined}
          options={inForce.map((record) => ({
            value: record.record,
            words: record.newest?.title || record.record,
            hint: `now in force: ${record.inForce.map((entry) => entry.replace("=", " revision ")).join(", ")}`,
          }))}
          chosen={planned.withdrawn}
          onChange={(withdrawn) => change({ withdrawn })}
        />
      </details>
      <Ticks
        legend="Markets"
        path="markets"
        fault={wrong("markets")}
        options={markets.map((market) => ({ value: market, words: market }))}
        chosen={planned.markets}
        onChange={(chosen) => change({ markets: chosen })}
      />
      <Choice
        label="Branches"
        value={planned.branches === null ? "all" : "some"}
        options={[
          { value: "all", words: "All branches of these markets" },
          { value: "some", words: "Only branches that I name", hint: "To try it at a few first" },
        ]}
        onChange={(whom) => change({ branches: whom === "all" ? null : (planned.branches ?? new Set()) })}
      />
      {planned.branches !== null && (
        <Ticks
          legend="Branches that try it"
          path="branches"
          fault={wrong("branches")}
          options={(branches.data?.branches ?? [])
            .filter((branch) => planned.markets.size === 0 || planned.markets.has(branch.market))
            .map((branch) => ({
              value: branch.name,
              words: branch.title,
              hint: `${branch.place}, ${branch.market}`,
            }))}
          chosen={planned.branches}
          onChange={(named) => change({ branches: named })}
        />
      )}
      {branches.error && <Failure title="The branches could not be loaded" fault={faultOf(branches.error)} />}
      <Choice
        label="In force"
        row
        value={planned.local === null ? "now" : "later"}
        options={[
          { value: "now", words: "Now" },
          { value: "later", words: "From a later time" },
        ]}
        onChange={(when) => change({ local: when === "now" ? null : (planned.local ?? "") })}
      />
      {planned.local !== null && (
        <>
          <TextField
            label="Date and time where you are"
            hint={`Your time zone: ${Intl.DateTimeFormat().resolvedOptions().timeZone}.`}
            path="effective_time"
            type="datetime-local"
            value={planned.local}
            onChange={(local) => change({ local })}
            {...(wrong("effective_time") ? { fault: wrong("effective_time") } : {})}
          />
          <p role="status">
            {Number.isNaN(at)
              ? "Choose a date and time; the same instant in UTC is shown here."
              : `${showInstant(at, locale)} is ${showInstant(at, locale, "UTC")}.`}
          </p>
        </>
      )}
      <TextField
        label="Reason"
        optional
        hint="What changes and why; branches and later readers see it."
        lines={3}
        maxLength={2000}
        value={planned.reason}
        onChange={(reason) => change({ reason })}
      />
      <Part title="What would change">
        {faults.length > 0 ? (
          <p>It is shown here as soon as it is said what, where and from when.</p>
        ) : told.length > 0 ? (
          <p>It is shown here when what is marked above is right.</p>
        ) : unclear ? (
          <Failure title="What would change could not be worked out" fault={unclear} />
        ) : preview.data ? (
          <Preview preview={preview.data} besides={cautions} />
        ) : (
          <Loading what="what would change" rows={3} />
        )}
      </Part>
      <Actions>
        <Button
          kind={approver ? "main" : "quiet"}
          type="submit"
          pending={release.isPending}
          pendingWords="Releasing…"
          because={approver ? undefined : "Only an office approver releases."}
        >
          Release
        </Button>
        <Button
          kind={approver ? "quiet" : "main"}
          pending={propose.isPending}
          pendingWords="Asking…"
          onClick={() => void ask()}
        >
          Ask a second person
        </Button>
        <ButtonLink to={paths.releases}>Back without releasing</ButtonLink>
      </Actions>
    </form>
  );
}

const fieldWords: Record<string, string> = {
  revisions: "What is put in force",
  withdrawn: "What is taken out of force",
  markets: "The markets",
  branches: "The branches",
  effective_time: "The instant",
  reason: "The reason",
};

/** toldOf says the faults of the service with the words of this form. */
const toldOf = (fields: readonly FieldFault[]): FieldFault[] =>
  fields.map(({ path, words }) => {
    const field = path.replace(/^plan\./, "").replace(/\[.*$/, "");
    return { path: field, words: `${fieldWords[field] ?? field}: ${words}.`.replace(/\.\.$/, ".") };
  });

const optionOf = (one: Candidate) => ({ value: one.revision, words: one.words, hint: standing(one) });

const standing = (one: Candidate) =>
  one.inForce.length > 0
    ? `now in force: ${one.inForce.map((entry) => entry.replace("=", " revision ")).join(", ")}`
    : "not in force anywhere";
