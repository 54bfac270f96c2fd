import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { useParams, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, personWords, withQuery } from "../../app/paths.ts";
import { mayApprove } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { TextField } from "../../kit/Field.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService, type Draft, DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { Comparison } from "./Comparison.tsx";
import { blank, caseOf, filled } from "./content.ts";
import { contentIn } from "./revisions.ts";
import styles from "./SecondLook.module.css";
import { draftStateWords, shortHash } from "./writing.ts";

/** SecondLookScreen loads a draft once and never behind the approver's back: what is approved is what is shown. */
export default function SecondLookScreen() {
  const { draft: id = "" } = useParams();
  const network = useNetwork();
  const query = useQuery(
    DeskService.method.getDraft,
    { name: `drafts/${id}` },
    {
      gcTime: 0,
      staleTime: Number.POSITIVE_INFINITY,
      refetchOnWindowFocus: false,
      refetchOnReconnect: false,
    },
  );
  const draft = query.data?.draft;
  if (draft) return <Look draft={draft} onReload={() => void query.refetch()} reloading={query.isFetching} />;
  return (
    <Screen question="May this be approved?" state={{ network }}>
      {query.error ? (
        <Failure
          title="The draft could not be loaded"
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        >
          <ButtonLink to={paths.secondLooks}>All second looks</ButtonLink>
        </Failure>
      ) : (
        <Loading what="the draft" />
      )}
    </Screen>
  );
}

type LookProps = { draft: Draft; onReload: () => void; reloading: boolean };

function Look({ draft, onReload, reloading }: LookProps) {
  const network = useNetwork();
  const person = usePerson();
  const queries = useQueryClient();
  const [view, setView] = useSearchParams();
  const [reason, setReason] = useState("");
  const [wrong, setWrong] = useState("");
  const base = useQuery(
    CatalogService.method.getRevision,
    { record: draft.record, number: draft.baseNumber },
    { enabled: draft.baseNumber > 0n },
  );
  const approve = useMutation(DeskService.method.approveDraft);
  const refuse = useMutation(DeskService.method.refuseDraft);
  const first = draft.baseNumber === 0n;
  const before = first ? blank(caseOf(draft.record)) : contentIn(base.data?.sealed);
  const after = draft.content ? filled(draft.content) : blank(caseOf(draft.record));
  // Others who wrote in it are refused by the service, which alone knows them all.
  const own = lastPart(draft.author) === lastPart(person.name);
  const stop = !mayApprove(person)
    ? "Only an office approver takes second looks."
    : draft.state !== DraftState.ASKED
      ? `This draft ${draftStateWords[draft.state].replace(/^(being|sent|approved|discarded)/, "is $1")}.`
      : own
        ? "You wrote this draft, so another person must look at it."
        : undefined;
  const fault = approve.error ? faultOf(approve.error) : refuse.error ? faultOf(refuse.error) : null;
  const approved = approve.data?.revision;

  if (approved)
    return (
      <Screen question="It is approved." state={{ network, revision: approved.name }}>
        <Notice
          kind="info"
          live
          title={`${approved.title || draft.record} is sealed as revision ${approved.number}.`}
        >
          <p>It is not in force yet: a release puts it in force.</p>
        </Notice>
        <Actions>
          <ButtonLink kind="main" to={withQuery(paths.newRelease, { with: approved.name })}>
            Release it
          </ButtonLink>
          <ButtonLink to={paths.secondLooks}>More second looks</ButtonLink>
        </Actions>
      </Screen>
    );
  if (refuse.data)
    return (
      <Screen question="It is sent back." state={{ network, revision: draft.record }}>
        <Notice kind="info" live title={`${personWords(draft.author)} sees your reason on the draft.`} />
        <Actions>
          <ButtonLink kind="main" to={paths.secondLooks}>
            More second looks
          </ButtonLink>
        </Actions>
      </Screen>
    );
  return (
    <Screen
      question="May this be approved?"
      failed={fault !== null}
      state={{
        network,
        revision: `${draft.record}, ${first ? "first revision" : `to follow revision ${draft.baseNumber}`}, written by ${personWords(draft.author)}`,
        ...(draft.updateTime ? { asOf: timestampMs(draft.updateTime) } : {}),
      }}
      lead={draft.reason ? `Why: ${draft.reason}` : "The author gave no reason."}
    >
      {fault && (
        <Failure title="This was not done" fault={fault}>
          {fault.kind === "MOVED_ON" && (
            <Button
              pending={reloading}
              pendingWords="Loading…"
              onClick={() => {
                approve.reset();
                refuse.reset();
                onReload();
              }}
            >
              Show what it says now
            </Button>
          )}
        </Failure>
      )}
      {base.error ? (
        <Failure
          title={`Revision ${draft.baseNumber} could not be loaded, so there is nothing to compare with`}
          fault={faultOf(base.error)}
          onRetry={() => void base.refetch()}
        />
      ) : before ? (
        <Comparison
          left={{ words: first ? "nothing yet" : `revision ${draft.baseNumber}`, content: before }}
          right={{ words: "this draft", content: after }}
          view={{ all: view.get("all") === "yes", film: view.get("film") ?? "" }}
          onView={({ all, film }) =>
            setView({ ...(all ? { all: "yes" } : {}), ...(film ? { film } : {}) }, { replace: true })
          }
        />
      ) : (
        <Loading what="the revision before" />
      )}
      <Part title="Decide">
        <div className={styles.decide}>
          <p>
            You look at exactly the content with digest <code>{shortHash(draft.contentSha256)}</code>. If
            anybody changes it before you approve, the approval does not hold and you are asked again.
          </p>
          <TextField
            label="Reason, when you send it back"
            path="reason"
            lines={2}
            maxLength={2000}
            value={reason}
            onChange={(words) => {
              setReason(words);
              setWrong("");
            }}
            {...(wrong ? { fault: wrong } : {})}
          />
          <Actions>
            <Button
              kind="main"
              pending={approve.isPending}
              pendingWords="Approving…"
              because={stop ?? (before ? undefined : "Wait until both sides are shown.")}
              onClick={() =>
                approve.mutate(
                  { name: draft.name, seenSha256: draft.contentSha256 },
                  {
                    onSuccess: () =>
                      void queries.invalidateQueries({ predicate: (query) => query.gcTime > 0 }),
                  },
                )
              }
            >
              Approve
            </Button>
            {stop === undefined && (
              <Button
                kind="danger"
                pending={refuse.isPending}
                pendingWords="Sending back…"
                onClick={() => {
                  if (reason.trim() === "") {
                    setWrong("Say why, so that the author knows what to mend.");
                    document.getElementById("field-reason")?.focus();
                    return;
                  }
                  refuse.mutate({ name: draft.name, etag: draft.etag, reason: reason.trim() });
                }}
              >
                Refuse
              </Button>
            )}
            <ButtonLink to={paths.draft(lastPart(draft.name))}>Open the draft</ButtonLink>
          </Actions>
        </div>
      </Part>
    </Screen>
  );
}
