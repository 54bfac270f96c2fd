import { fromBinary } from "@bufbuild/protobuf";
import { createQueryOptions, useTransport } from "@connectrpc/connect-query";
import { useQueries } from "@tanstack/react-query";
import { CatalogService, type RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type Certificate, type Note, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";

export type Paper = { case: "note"; value: Note } | { case: "certificate"; value: Certificate };

/** usePapers opens the newest revision of each record, by record name. What can not be opened is left out. */
export function usePapers(records: readonly RecordSummary[]): ReadonlyMap<string, Paper> {
  const transport = useTransport();
  const queries = useQueries({
    queries: records
      .filter((record) => record.newest)
      .map((record) =>
        createQueryOptions(
          CatalogService.method.getRevision,
          { record: record.record, number: record.newest?.number ?? 0n },
          { transport },
        ),
      ),
  });
  const papers = new Map<string, Paper>();
  for (const { data } of queries) {
    if (!data?.sealed) continue;
    const revision = fromBinary(RevisionSchema, data.sealed.content);
    const content = revision.content?.content;
    if (content?.case === "note" || content?.case === "certificate") papers.set(revision.record, content);
  }
  return papers;
}
