import { timestampFromMs, timestampMs } from "@bufbuild/protobuf/wkt";
import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useLocation } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords, withQuery } from "../../app/paths.ts";
import { mayApprove } from "../../app/roles.ts";
import { usePerson } from "../../app/session.tsx";
import { Actions, Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { TextField } from "../../kit/Field.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Part } from "../../kit/Screen.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { type Proposal, ReleaseService } from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { Preview } from "./Preview.tsx";
import { instantOf } from "./planning.ts";
import styles from "./Releases.module.css";
import { useTitles } from "./useTitles.ts";
import { branchWords, revisionWords, sentence } from "./writing.ts";

/** Proposals are releases that wait for a second person. An overdue one asks; none ever fires by itself. */
export function Proposals() {
  const query = useQuery(ReleaseService.method.listProposals, {});
  if (query.error)
    return (
      <Failure
        title="What waits for a second person could not be loaded"
        fault={faultOf(query.error)}
        onRetry={() => void query.refetch()}
        retrying={query.isFetching}
      />
    );
  const proposals = query.data?.proposals ?? [];
  if (proposals.length === 0) return null;
  return (
    <Part
      title={
        proposals.length === 1
          ? "One waits for a second person"
          : `${proposals.length} wait for a second person`
      }
    >
      {proposals.map((proposal, at) => (
        <One key={proposal.name} proposal={proposal} first={at === 0} />
      ))}
    </Part>
  );
}

function One({ proposal, first }: { proposal: Proposal; first: boolean }) {
  const { locale } = useUnits();
  const person = usePerson();
  const queries = useQueryClient();
  const [, go] = useLocation();
  const { plan } = proposal;
  const [open, setOpen] = useState(false);
  const [refusing, setRefusing] = useState(false);
  const [local, setLocal] = useState("");
  const [reason, setReason] = useState("");
  const [requiredWords, setRequired] = useState("");
  const approve = useMutation(ReleaseService.method.approveRelease);
  const refuse = useMutation(ReleaseService.method.refuseRelease);
  const at = plan?.effectiveTime ? timestampMs(plan.effectiveTime) : Number.NaN;
  const own = proposal.proposer === person.name;
  const may = mayApprove(person);
  const titles = useTitles();
  // An overdue plan is looked at as if it took effect now: its own instant can not come any more.
  const { effectiveTime: _, ...atOnce } = plan ?? {};
  const preview = useQuery(
    ReleaseService.method.previewRelease,
    { plan: proposal.overdue ? atOnce : (plan ?? {}) },
    { enabled: open },
  );
  const error = approve.error ?? refuse.error;

  async function onApprove() {
    const chosen = instantOf(local);
    if (proposal.overdue && Number.isNaN(chosen)) {
      setRequired("Its instant has passed: choose another.");
      return;
    }
    const answer = await approve
      .mutateAsync({
        name: proposal.name,
        seenSha256: proposal.sha256,
        ...(Number.isNaN(chosen) ? {} : { effectiveTime: timestampFromMs(chosen) }),
      })
      .catch(() => null); // shown from error
    if (!answer?.release) return;
    await queries.invalidateQueries();
    go(withQuery(paths.release(Number(answer.release.number)), { done: "yes" }));
  }
  async function onRefuse() {
    if (reason.trim() === "") {
      setRequired("Say why, for whoever asked.");
      return;
    }
    const answer = await refuse.mutateAsync({ name: proposal.name, reason }).catch(() => null); // shown from error
    if (answer) await queries.invalidateQueries();
  }
  const words =
    plan?.revisions
      .slice(0, 4)
      .map((one) => revisionWords(one, titles))
      .join("; ") || "nothing new";
  return (
    <article className={styles.proposal} data-overdue={proposal.overdue || undefined}>
      <h3>{words}</h3>
      <p>
        For {plan ? branchWords(plan, titles) : "nobody"}, from{" "}
        {Number.isNaN(at) ? "the moment it is approved" : showInstant(at, locale)}. Asked by{" "}
        {personWords(proposal.proposer)}
        {plan?.reason ? `: ${sentence(plan.reason)}` : "."}
      </p>
      {proposal.overdue && (
        <Notice kind="caution" title="Its instant passed and nobody approved it">
          <p>It did not take effect and will not by itself. Choose another instant, or refuse it.</p>
        </Notice>
      )}
      {error && <Failure title="It was not done" fault={faultOf(error)} />}
      <Actions>
        <Button aria-expanded={open} onClick={() => setOpen(!open)}>
          What would change
        </Button>
        <Button
          kind={first && may && !own ? "main" : "quiet"}
          pending={approve.isPending}
          pendingWords="Releasing…"
          because={
            !may
              ? "Only an office approver releases."
              : own
                ? "You asked: another person approves."
                : undefined
          }
          onClick={() => void onApprove()}
        >
          Approve and release
        </Button>
        <Button kind="plain" aria-expanded={refusing} onClick={() => setRefusing(!refusing)}>
          {own ? "Drop it" : "Refuse"}
        </Button>
      </Actions>
      {proposal.overdue && may && !own && (
        <TextField
          label="New date and time where you are"
          type="datetime-local"
          value={local}
          onChange={(value) => {
            setLocal(value);
            setRequired("");
          }}
          fault={refusing ? undefined : requiredWords || undefined}
        />
      )}
      {refusing && (
        <>
          <TextField
            label="Why"
            lines={2}
            maxLength={2000}
            value={reason}
            onChange={(value) => {
              setReason(value);
              setRequired("");
            }}
            fault={requiredWords || undefined}
          />
          <Actions>
            <Button kind="danger" pending={refuse.isPending} onClick={() => void onRefuse()}>
              {own ? "Drop this release" : "Refuse this release"}
            </Button>
          </Actions>
        </>
      )}
      {open &&
        (preview.data ? (
          <Preview preview={preview.data} />
        ) : preview.error ? (
          <Failure title="What would change could not be worked out" fault={faultOf(preview.error)} />
        ) : (
          <Loading what="what would change" rows={3} />
        ))}
    </article>
  );
}
