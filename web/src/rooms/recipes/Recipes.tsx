import { fromBinary } from "@bufbuild/protobuf";
import { createQueryOptions, useQuery, useTransport } from "@connectrpc/connect-query";
import { useQueries } from "@tanstack/react-query";
import { Link, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, personWords, withQuery } from "../../app/paths.ts";
import { mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { TextField } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { CatalogService, type RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService, type Draft } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { type Recipe, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { celsius, seconds } from "../../units/quantities.ts";
import { MiniCycle } from "./MiniCycle.tsx";
import { NewRecord } from "./NewRecord.tsx";
import { PlaceTables } from "./PlaceTables.tsx";
import { draftStateWords } from "./writing.ts";

/** Recipes lists every recipe: its cycle at a glance, what is in force, and what is being written. */
export default function Recipes() {
  const [view] = useSearchParams();
  const wanted = view.get("new");
  return wanted === null ? <RecipeList /> : <NewRecord folder={wanted} />;
}

function RecipeList() {
  const [view, setView] = useSearchParams();
  const person = usePerson();
  const network = useNetwork();
  const units = useUnits();
  const query = useQuery(CatalogService.method.listRecords, { kind: "recipes" });
  const drafts = useQuery(DeskService.method.listDrafts, {}, { enabled: mayReadDrafts(person) });
  const records = query.data?.records ?? [];
  const recipes = useRecipes(records);
  const find = view.get("find") ?? "";
  const sort = view.get("sort") ?? "recipe";
  const shown = records.filter((record) =>
    find
      .toLowerCase()
      .split(/\s+/)
      .every((word) => `${record.record} ${record.newest?.title ?? ""}`.toLowerCase().includes(word)),
  );
  const change = (name: string, value: string) =>
    setView(
      (before) => {
        const next = new URLSearchParams(before);
        if (value === "") next.delete(name);
        else next.set(name, value);
        return next;
      },
      { replace: true },
    );
  return (
    <Screen
      question="Which recipes are there, and which are in force?"
      state={{ network, ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}) }}
    >
      {query.error && (
        <Failure
          title={records.length > 0 ? "What is shown may be old" : "The recipes could not be loaded"}
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      )}
      {query.isPending && <Loading what="recipes" />}
      {query.data && records.length === 0 && (
        <Empty title="No recipe yet.">
          <p>A recipe says how one film is cut and pressed onto one fabric family.</p>
        </Empty>
      )}
      {mayWrite(person) && query.data && (
        <div>
          <ButtonLink kind="main" to={withQuery(paths.recipes, { new: "recipes" })}>
            Write a new recipe
          </ButtonLink>
        </div>
      )}
      {records.length > 0 && (
        <>
          <TextField
            label="Show only those that say"
            type="search"
            value={find}
            onChange={(text) => change("find", text)}
          />
          <Table<RecordSummary>
            caption={shown.length === 1 ? "1 recipe" : `${units.count(shown.length)} recipes`}
            rows={shown}
            keyOf={(record) => record.record}
            locale={units.locale}
            empty="None match. Clear the words above."
            sort={{ key: sort.replace(/^-/, ""), down: sort.startsWith("-") }}
            onSort={(next) => change("sort", (next.down ? "-" : "") + next.key)}
            columns={[
              {
                key: "recipe",
                words: "Recipe",
                heads: true,
                sortBy: (record) => record.newest?.title || record.record,
                cell: (record) =>
                  record.newest ? (
                    <Link href={paths.recipe(lastPart(record.record))}>
                      {record.newest.title || record.record}
                    </Link>
                  ) : (
                    record.record
                  ),
              },
              {
                key: "cycle",
                words: "Cycle",
                cell: (record) => {
                  const recipe = recipes.get(record.record);
                  return recipe ? <MiniCycle recipe={recipe} /> : "–";
                },
              },
              {
                key: "platen",
                words: "Platen",
                figure: true,
                cell: (record) => {
                  const set = recipes.get(record.record)?.pressTemperatureCelsius?.set;
                  return set === undefined ? "–" : units.show("temperature", celsius(set));
                },
              },
              {
                key: "dwell",
                words: "Dwell",
                figure: true,
                cell: (record) => {
                  const set = recipes.get(record.record)?.dwellSeconds?.set;
                  return set === undefined ? "–" : units.show("duration", seconds(set));
                },
              },
              {
                key: "newest",
                words: "Newest revision",
                figure: true,
                sortBy: (record) => record.newest?.number ?? 0n,
                cell: (record) => (record.newest ? units.count(record.newest.number) : "none yet"),
              },
              {
                key: "force",
                words: "In force",
                cell: (record) => record.inForce.map(inForceWords).join(", ") || "nowhere yet",
              },
              {
                key: "draft",
                words: "Draft",
                cell: (record) =>
                  record.draft && mayReadDrafts(person) ? (
                    <Link href={paths.draft(lastPart(record.draft))}>open draft</Link>
                  ) : (
                    "none"
                  ),
              },
            ]}
          />
        </>
      )}
      <PlaceTables />
      {(drafts.data?.drafts.length ?? 0) > 0 && (
        <Part title="What is being written">
          <Table<Draft>
            caption="Open drafts of every kind"
            quietCaption
            rows={drafts.data?.drafts ?? []}
            keyOf={(draft) => draft.name}
            columns={[
              {
                key: "draft",
                words: "Draft",
                heads: true,
                cell: (draft) => <Link href={paths.draft(lastPart(draft.name))}>{draft.record}</Link>,
              },
              { key: "state", words: "State", cell: (draft) => draftStateWords[draft.state] },
              { key: "author", words: "Written by", cell: (draft) => personWords(draft.author) },
              { key: "reason", words: "Why", cell: (draft) => draft.reason || "not said" },
            ]}
          />
        </Part>
      )}
    </Screen>
  );
}

/** inForceWords writes "EU=3" as "EU: revision 3". */
const inForceWords = (entry: string) => entry.replace("=", ": revision ");

/** useRecipes opens the newest revision of each record. One that can not be opened is left out of the pictures. */
function useRecipes(records: readonly RecordSummary[]): ReadonlyMap<string, Recipe> {
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
  const found = new Map<string, Recipe>();
  for (const { data } of queries) {
    if (!data?.sealed) continue;
    const revision = fromBinary(RevisionSchema, data.sealed.content);
    if (revision.content?.content.case === "recipe")
      found.set(revision.record, revision.content.content.value);
  }
  return found;
}
