import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { Link, useLocation, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { CatalogService, type RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { ExpiryPicture } from "./ExpiryPicture.tsx";
import { Judge } from "./Judge.tsx";
import { PaperDetail } from "./PaperDetail.tsx";
import { usePapers } from "./usePapers.ts";
import { validityOf, validityWords } from "./validity.ts";

/** Papers shows notes and certificates, what ends soon, and one of them opened below the list. */
export default function Papers() {
  const [view, setView] = useSearchParams();
  const [, go] = useLocation();
  const queries = useQueryClient();
  const network = useNetwork();
  const person = usePerson();
  const { locale } = useUnits();
  const now = useNow(3_600_000);
  const certificates = useQuery(CatalogService.method.listRecords, { kind: "certificates" });
  const notes = useQuery(CatalogService.method.listRecords, { kind: "notes" });
  const start = useMutation(DeskService.method.createDraft);
  const [request, setRequest] = useState(uuid);
  const records = [...(certificates.data?.records ?? []), ...(notes.data?.records ?? [])];
  const papers = usePapers(records);
  const opened = records.find((record) => record.record === view.get("open"));
  const content = opened ? papers.get(opened.record) : undefined;
  const failed = [certificates, notes].find((query) => query.error);
  const show = (record: RecordSummary) => {
    const paper = papers.get(record.record);
    if (paper?.case !== "certificate") return paper?.case === "note" ? `for ${paper.value.market}` : "–";
    return validityWords(validityOf(paper.value, now));
  };
  async function edit(record: RecordSummary) {
    const answer = await start
      .mutateAsync({ record: record.record, baseNumber: record.newest?.number ?? 0n, requestId: request })
      .catch(() => null); // start.error holds it and is shown
    setRequest(uuid());
    if (!answer?.draft) return;
    void queries.invalidateQueries(); // the lists now have an open draft
    go(paths.draft(lastPart(answer.draft.name)));
  }
  const open = (record: string) => {
    const next = new URLSearchParams(view);
    next.set("open", record);
    return `${paths.papers}?${next}`;
  };
  return (
    <Screen
      question="Which papers hold, and which end soon?"
      state={{ network, ...(certificates.dataUpdatedAt > 0 ? { asOf: certificates.dataUpdatedAt } : {}) }}
      lead="A help, not legal advice: local law and accredited laboratories decide."
    >
      {failed && (
        <Failure
          title={records.length > 0 ? "What is shown may be old" : "The papers could not be loaded"}
          fault={faultOf(failed.error)}
          onRetry={() => void failed.refetch()}
          retrying={failed.isFetching}
        />
      )}
      {(certificates.isPending || notes.isPending) && <Loading what="papers" />}
      {certificates.data && notes.data && records.length === 0 && (
        <Empty title="No note and no certificate yet.">
          <p>Notes say which words and papers a garment needs; certificates are the papers.</p>
        </Empty>
      )}
      <ExpiryPicture records={records} papers={papers} now={now} />
      {mayWrite(person) && (
        <Actions>
          <ButtonLink kind="main" to={withQuery(paths.recipes, { new: "certificates" })}>
            Add a certificate
          </ButtonLink>
          <ButtonLink to={withQuery(paths.recipes, { new: "notes" })}>Write a note</ButtonLink>
        </Actions>
      )}
      {records.length > 0 && (
        <Table<RecordSummary>
          caption="Certificates and notes"
          quietCaption
          rows={records}
          keyOf={(record) => record.record}
          locale={locale}
          marked={(record) => record.record === opened?.record}
          columns={[
            {
              key: "paper",
              words: "Paper",
              heads: true,
              sortBy: (record) => record.newest?.title || record.record,
              cell: (record) => (
                <Link href={open(record.record)}>{record.newest?.title || record.record}</Link>
              ),
            },
            {
              key: "kind",
              words: "Kind",
              sortBy: (record) => record.record,
              cell: (record) => (record.record.startsWith("notes/") ? "note" : "certificate"),
            },
            { key: "holds", words: "Holds", cell: show },
            {
              key: "force",
              words: "In force",
              cell: (record) =>
                record.inForce.map((entry) => entry.replace("=", ": revision ")).join(", ") || "nowhere yet",
            },
          ]}
        />
      )}
      {start.error && <Failure title="The draft was not started" fault={faultOf(start.error)} />}
      {opened && (
        <Part title={opened.newest?.title || opened.record}>
          {content ? <PaperDetail paper={content} now={now} /> : <Loading what="the paper" />}
          <Actions>
            {mayWrite(person) &&
              (opened.draft ? (
                <ButtonLink to={paths.draft(lastPart(opened.draft))}>Go on with the open draft</ButtonLink>
              ) : (
                <Button pending={start.isPending} onClick={() => void edit(opened)}>
                  Edit as a new draft
                </Button>
              ))}
            {opened.newest && opened.draft && mayReadDrafts(person) && (
              <ButtonLink to={paths.sideBySide(opened.newest.name, opened.draft)}>
                Side by side with the draft
              </ButtonLink>
            )}
            {opened.newest && opened.newest.number > 1n && (
              <ButtonLink
                to={paths.sideBySide(
                  `${opened.record}/revisions/${opened.newest.number - 1n}`,
                  opened.newest.name,
                )}
              >
                Side by side with the revision before
              </ButtonLink>
            )}
            {opened.newest && mayWrite(person) && (
              <ButtonLink
                to={withQuery(paths.recipes, {
                  new: opened.record.split("/")[0],
                  from: opened.newest.name,
                })}
              >
                New paper from this one
              </ButtonLink>
            )}
            <ButtonLink to={paths.papers}>Close</ButtonLink>
          </Actions>
        </Part>
      )}
      {view.get("open") && !opened && certificates.data && notes.data && (
        <Notice kind="info" title={`There is no paper called ${view.get("open")}.`} />
      )}
      <Judge view={view} onView={(next) => setView(next, { replace: true })} />
    </Screen>
  );
}
