import { useQuery } from "@connectrpc/connect-query";
import { Link } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { CatalogService, type RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";

/** Prices lists the price lists. */
export default function Prices() {
  const network = useNetwork();
  const person = usePerson();
  const { locale } = useUnits();
  const query = useQuery(CatalogService.method.listRecords, { kind: "prices" });
  const records = query.data?.records ?? [];
  const office = mayReadDrafts(person);
  return (
    <Screen
      question="What do the price lists ask?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
    >
      {query.error && (
        <Failure
          title={records.length > 0 ? "What is shown may be old" : "The price lists could not be loaded"}
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {query.isPending && <Loading what="price lists" />}
      {query.data && records.length === 0 && (
        <Empty title="No price list yet.">
          <p>A price list says what one market asks for film, garments and labour.</p>
        </Empty>
      )}
      {query.data && mayWrite(person) && (
        <div>
          <ButtonLink kind="main" to={withQuery(paths.recipes, { new: "prices" })}>
            Write a new price list
          </ButtonLink>
        </div>
      )}
      {records.length > 0 && (
        <Table<RecordSummary>
          caption="Price lists"
          quietCaption
          rows={records}
          keyOf={(record) => record.record}
          locale={locale}
          columns={[
            {
              key: "list",
              words: "Price list",
              heads: true,
              sortBy: (record) => record.newest?.title || record.record,
              cell: (record) =>
                record.newest ? (
                  <Link href={paths.priceList(lastPart(record.record))}>
                    {record.newest.title || record.record}
                  </Link>
                ) : (
                  record.record
                ),
            },
            {
              key: "newest",
              words: "Newest revision",
              figure: true,
              cell: (record) => (record.newest ? String(record.newest.number) : "none yet"),
            },
            {
              key: "force",
              words: "In force",
              cell: (record) =>
                record.inForce.map((entry) => entry.replace("=", ": revision ")).join(", ") || "nowhere yet",
            },
            {
              key: "draft",
              words: "Draft",
              cell: (record) =>
                record.draft && office ? (
                  <Link href={paths.draft(lastPart(record.draft))}>open draft</Link>
                ) : (
                  "none"
                ),
            },
          ]}
        />
      )}
    </Screen>
  );
}
