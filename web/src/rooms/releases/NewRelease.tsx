import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useLocation, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, withQuery } from "../../app/paths.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Checkbox, Choice, fieldId, TextField } from "../../kit/Field.tsx";
import type { FieldFault } from "../../kit/fault.ts";
import { ErrorSummary, Failure } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { Role } from "../../proto/evenpeel/access/v1/access_service_pb.ts";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { CatalogService, type RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { type Candidate, candidatesOf } from "./candidates.ts";
import styles from "./Releases.module.css";

const markets = ["EU", "UK", "US", "CA", "AU"] as const;

/** NewRelease asks what to release only once it is known what is approved. */
export default function NewRelease() {
  const network = useNetwork();
  const query = useQuery(CatalogService.method.listRecords, {});
  const [view] = useSearchParams();
  const records = query.data?.records;
  const wanted = (view.get("with") ?? "").split(" ").filter(Boolean);
  return (
    <Screen
      question="What should be in force, where and from when?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
      lead="A release is signed, numbered and can not be taken back. Going back is a new release of an earlier revision."
    >
      {query.error && (
        <Failure
          title="The approved revisions could not be loaded"
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {query.isPending && <Loading what="approved revisions" />}
      {records && <Form key={wanted.join()} records={records} wanted={wanted} />}
    </Screen>
  );
}

function Form({ records, wanted }: { records: readonly RecordSummary[]; wanted: readonly string[] }) {
  const person = usePerson();
  const { locale } = useUnits();
  const [, go] = useLocation();
  const [view] = useSearchParams();
  const queries = useQueryClient();
  const branches = useQuery(BranchesService.method.listBranches, {});
  const release = useMutation(DeskService.method.createRelease);
  const candidates = candidatesOf(records, wanted);
  const [chosen, setChosen] = useState<ReadonlySet<string>>(
    () => new Set(candidates.filter((one) => one.chosen).map((one) => one.revision)),
  );
  const [where, setWhere] = useState<ReadonlySet<string>>(
    () =>
      new Set((view.get("markets") ?? "").split(" ").filter((one) => markets.some((known) => known === one))),
  );
  const [whom, setWhom] = useState<"all" | "some">("all");
  const [named, setNamed] = useState<ReadonlySet<string>>(new Set());
  const [when, setWhen] = useState<"now" | "later">("now");
  const [local, setLocal] = useState("");
  const [reason, setReason] = useState("");
  const [attempt, setAttempt] = useState(0);
  const [request] = useState(() => crypto.randomUUID());

  const at = local === "" ? Number.NaN : new Date(local).getTime(); // a date-time without zone is read as local
  const faults: FieldFault[] = [];
  if (chosen.size === 0) faults.push({ path: "revisions", words: "Choose at least one revision" });
  if (where.size === 0) faults.push({ path: "markets", words: "Choose at least one market" });
  if (whom === "some" && named.size === 0)
    faults.push({ path: "branches", words: "Name at least one branch" });
  if (when === "later" && Number.isNaN(at))
    faults.push({ path: "effective_time", words: "Say from when it is in force" });
  const shown = attempt > 0 ? faults : [];
  const wrong = (path: string) => shown.find((fault) => fault.path === path)?.words;
  const failure = release.error ? faultOf(release.error) : null;

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
    const answer = await release
      .mutateAsync({
        revisions: [...chosen],
        markets: [...where],
        branches: whom === "all" ? [] : [...named],
        ...(when === "later" ? { effectiveTime: timestampFromMs(at) } : {}),
        reason,
        requestId: request,
      })
      .catch(() => null); // release.error holds it and is shown
    if (!answer?.release) return;
    await queries.invalidateQueries();
    go(withQuery(paths.release(Number(answer.release.number)), { done: "yes" }));
  }

  return (
    <form
      className={styles.form}
      noValidate
      onSubmit={(event) => {
        event.preventDefault();
        void send();
      }}
    >
      <ErrorSummary faults={shown} attempt={attempt} />
      {failure && <Failure title="It was not released" fault={failure} />}
      {failure && failure.fields.length > 0 && (
        <ul>
          {failure.fields.map((field) => (
            <li key={field.path}>
              {field.path}: {field.words}
            </li>
          ))}
        </ul>
      )}
      <Ticks
        legend="Revisions to put in force"
        path="revisions"
        fault={wrong("revisions")}
        options={candidates.map((one) => ({ value: one.revision, words: one.words, hint: standing(one) }))}
        chosen={chosen}
        onChange={setChosen}
      />
      <Ticks
        legend="Markets"
        path="markets"
        fault={wrong("markets")}
        options={markets.map((market) => ({ value: market, words: market }))}
        chosen={where}
        onChange={setWhere}
      />
      <Choice
        label="Branches"
        value={whom}
        options={[
          { value: "all", words: "All branches of these markets" },
          { value: "some", words: "Only branches that I name", hint: "To try it at a few first" },
        ]}
        onChange={setWhom}
      />
      {whom === "some" && (
        <Ticks
          legend="Branches that try it"
          path="branches"
          fault={wrong("branches")}
          options={(branches.data?.branches ?? [])
            .filter((branch) => where.size === 0 || where.has(branch.market))
            .map((branch) => ({
              value: branch.name,
              words: branch.title,
              hint: `${branch.place}, ${branch.market}`,
            }))}
          chosen={named}
          onChange={setNamed}
        />
      )}
      {branches.error && <Failure title="The branches could not be loaded" fault={faultOf(branches.error)} />}
      <Choice
        label="In force"
        row
        value={when}
        options={[
          { value: "now", words: "Now" },
          { value: "later", words: "From a later time" },
        ]}
        onChange={setWhen}
      />
      {when === "later" && (
        <>
          <TextField
            label="Date and time where you are"
            hint={`Your time zone: ${Intl.DateTimeFormat().resolvedOptions().timeZone}.`}
            path="effective_time"
            type="datetime-local"
            value={local}
            onChange={setLocal}
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
        value={reason}
        onChange={setReason}
      />
      <Part title={summary(chosen.size, where, whom === "all" ? null : named.size)}>
        <Actions>
          <Button
            kind="main"
            type="submit"
            pending={release.isPending}
            pendingWords="Releasing…"
            because={
              person.roles.includes(Role.OFFICE_APPROVER) ? undefined : "Only an office approver releases."
            }
          >
            Release
          </Button>
          <ButtonLink to={paths.releases}>Back without releasing</ButtonLink>
        </Actions>
      </Part>
    </form>
  );
}

const standing = (one: Candidate) =>
  one.inForce.length > 0
    ? `now in force: ${one.inForce.map((entry) => entry.replace("=", " revision ")).join(", ")}`
    : "not in force anywhere";

function summary(revisions: number, where: ReadonlySet<string>, named: number | null): string {
  const what = revisions === 1 ? "1 revision" : `${revisions} revisions`;
  const whom = named === null ? "all branches" : named === 1 ? "1 branch" : `${named} branches`;
  return where.size === 0 ? `${what}, no market yet` : `${what} for ${whom} in ${[...where].join(", ")}`;
}

type TicksProps = {
  legend: string;
  path: string;
  fault: string | undefined;
  options: readonly { value: string; words: string; hint?: string }[];
  chosen: ReadonlySet<string>;
  onChange: (chosen: ReadonlySet<string>) => void;
};

/** Ticks asks for any number of a list. */
function Ticks({ legend, path, fault, options, chosen, onChange }: TicksProps) {
  const id = fieldId(path);
  return (
    <fieldset
      className={styles.choices}
      id={id}
      tabIndex={-1}
      aria-describedby={fault ? `${id}-fault` : undefined}
    >
      <legend>{legend}</legend>
      {fault && (
        <p id={`${id}-fault`} className={styles.fault}>
          {fault}
        </p>
      )}
      <div className={styles.columns}>
        {options.map((option) => (
          <Checkbox
            key={option.value}
            label={option.words}
            {...(option.hint ? { hint: option.hint } : {})}
            checked={chosen.has(option.value)}
            onChange={(on) => {
              const next = new Set(chosen);
              if (on) next.add(option.value);
              else next.delete(option.value);
              onChange(next);
            }}
          />
        ))}
      </div>
    </fieldset>
  );
}
