import { timestampFromMs, timestampMs } from "@bufbuild/protobuf/wkt";
import { useQuery } from "@connectrpc/connect-query";
import { keepPreviousData } from "@tanstack/react-query";
import { type FormEvent, useState } from "react";
import { Link, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, personWords } from "../../app/paths.ts";
import { mayReadActs } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Select, TextField } from "../../kit/Field.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Facts, Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { BranchesService } from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import {
  type GetPastResponse,
  type PastEntry,
  PastService,
} from "../../proto/evenpeel/recipes/v1/past_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import styles from "./Releases.module.css";
import { partsOf, pathTo, shortHash } from "./writing.ts";

const localOf = (instant: number): string => {
  const date = new Date(instant - new Date(instant).getTimezoneOffset() * 60_000);
  return date.toISOString().slice(0, 16);
};

/** Past says what a branch had in force at an instant: the exact revisions, with what proves them. */
export default function Past() {
  const [view, setView] = useSearchParams();
  const network = useNetwork();
  const person = usePerson();
  const [opened] = useState(() => Date.now());
  const own = person.branch === "" ? "" : lastPart(person.branch);
  const branch = own || (view.get("branch") ?? "");
  const at = Date.parse(view.get("at") ?? "");
  const instant = Number.isNaN(at) ? opened : at;
  const branches = useQuery(BranchesService.method.listBranches, {});
  const query = useQuery(
    PastService.method.getPast,
    { branch: `branches/${branch}`, instant: timestampFromMs(instant) },
    { enabled: branch !== "", placeholderData: keepPreviousData },
  );
  const set = (part: { branch?: string; at?: string }) => {
    const next = { branch: own === "" ? branch : "", at: view.get("at") ?? "", ...part };
    setView(Object.fromEntries(Object.entries(next).filter(([, value]) => value !== "")), { replace: true });
  };
  const title = branches.data?.branches.find(({ name }) => name === `branches/${branch}`)?.title ?? branch;
  return (
    <Screen
      question="What did a branch have in force, and when?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
      lead="Any instant since the first release: what was pressed then can be shown to have been what was approved."
    >
      <When
        key={`${branch} ${instant}`}
        branch={branch}
        branches={
          own === ""
            ? (branches.data?.branches ?? []).map(({ name, title: words }) => ({
                value: lastPart(name),
                words,
              }))
            : null
        }
        local={localOf(instant)}
        onShow={(chosen, local) => set({ branch: chosen, at: new Date(local).toISOString() })}
      />
      {branch === "" && (
        <Empty title="Choose a branch.">
          <p>Then its settings of any day can be looked up.</p>
        </Empty>
      )}
      {query.error && (
        <Failure
          title="It could not be looked up"
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {branch !== "" && query.isPending && <Loading what="what was in force" />}
      {query.data && branch !== "" && <Found past={query.data} title={title} />}
      {mayReadActs(person) && (
        <Actions>
          <ButtonLink to={paths.acts}>Who did what</ButtonLink>
        </Actions>
      )}
    </Screen>
  );
}

type WhenProps = {
  branch: string;
  branches: readonly { value: string; words: string }[] | null;
  local: string;
  onShow: (branch: string, local: string) => void;
};

function When({ branch, branches, local, onShow }: WhenProps) {
  const [chosen, setChosen] = useState(branch);
  const [at, setAt] = useState(local);
  const [wrong, setWrong] = useState("");
  function submit(event: FormEvent) {
    event.preventDefault();
    if (chosen === "") setWrong("Choose a branch.");
    else if (Number.isNaN(new Date(at).getTime())) setWrong("Write a date and time.");
    else onShow(chosen, at);
  }
  return (
    <form className={styles.when} noValidate onSubmit={submit}>
      {branches && (
        <Select
          label="Branch"
          none="Choose a branch"
          value={chosen}
          options={branches}
          fault={chosen === "" && wrong ? wrong : undefined}
          onChange={setChosen}
        />
      )}
      <TextField
        label="Date and time where you are"
        type="datetime-local"
        value={at}
        onChange={setAt}
        fault={chosen !== "" && wrong ? wrong : undefined}
      />
      <div>
        <Button kind="main" type="submit">
          Look it up
        </Button>
      </div>
    </form>
  );
}

function Found({ past, title }: { past: GetPastResponse; title: string }) {
  const { locale } = useUnits();
  return (
    <Part
      title={`${title}, ${past.localTime.slice(0, 16).replace("T", " ")} by its own clock (${past.zone})`}
    >
      <Notice
        kind={past.chainWhole ? "info" : "block"}
        title={past.chainWhole ? "The chain of releases is whole" : "The chain of releases is broken"}
      >
        <p>{past.chainWords}</p>
      </Notice>
      {past.entries.length === 0 ? (
        <Empty title="Nothing was in force there yet." />
      ) : (
        <Table<PastEntry>
          caption="In force then"
          rows={past.entries}
          keyOf={({ revision }) => revision}
          locale={locale}
          columns={[
            {
              key: "what",
              words: "What",
              heads: true,
              sortBy: ({ title: words }) => words,
              cell: (entry) => <Link href={pathTo(entry.revision)}>{entry.title || entry.revision}</Link>,
            },
            {
              key: "revision",
              words: "Revision",
              figure: true,
              cell: ({ revision }) => String(partsOf(revision)?.number ?? revision),
            },
            {
              key: "release",
              words: "By release",
              figure: true,
              sortBy: ({ release }) => release,
              cell: ({ release }) => <Link href={paths.release(Number(release))}>{String(release)}</Link>,
            },
            {
              key: "since",
              words: "From",
              sortBy: ({ effectiveTime }) => (effectiveTime ? timestampMs(effectiveTime) : 0),
              cell: ({ effectiveTime }) =>
                effectiveTime ? showInstant(timestampMs(effectiveTime), locale) : "–",
            },
            {
              key: "until",
              words: "To",
              cell: ({ endTime }) => (endTime ? showInstant(timestampMs(endTime), locale) : "still in force"),
            },
            {
              key: "who",
              words: "Written, approved",
              cell: ({ author, approver }) => `${personWords(author)}, ${personWords(approver)}`,
            },
            { key: "digest", words: "Sealed as", cell: ({ sha256 }) => <code>{shortHash(sha256)}…</code> },
          ]}
        />
      )}
      <Facts
        facts={[
          { words: "Market", value: past.market },
          { words: "Digest of the whole sheet", value: <code>{shortHash(past.sha256)}…</code> },
          { words: "Releases that prove it", value: String(past.releases.length) },
        ]}
      />
    </Part>
  );
}
