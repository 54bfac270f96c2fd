import { useQuery } from "@connectrpc/connect-query";
import { faultOf } from "../../app/fault.ts";
import { useNetwork } from "../../app/session.tsx";
import { Select } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty } from "../../kit/Waiting.tsx";
import { CompareService } from "../../proto/evenpeel/compare/v1/compare_service_pb.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { Answered } from "./Answered.tsx";
import { Held } from "./Held.tsx";
import { RevisionRates } from "./RevisionRates.tsx";
import { SpanForm } from "./SpanForm.tsx";
import { useAddress } from "./useAddress.ts";
import { asked, querySpan, spanOf } from "./view.ts";

/** Changes asks whether a new revision of a recipe brought fewer reprints. */
export default function Changes() {
  const { search, today, daysOf, show } = useAddress();
  const network = useNetwork();
  const recipe = search.get("recipe") ?? "";
  // Film and fabric are the recipe's own.
  const span = { ...spanOf(search, today), film: "", fabric: "" };
  const recipes = useQuery(CatalogService.method.listRecords, { kind: "recipes" });
  const answer = useQuery(
    CompareService.method.compareRevisions,
    { record: recipe, ...asked(span) },
    { enabled: recipe !== "" },
  );
  const records = (recipes.data?.records ?? []).filter((record) => record.newest !== undefined);
  const listed = records.some((record) => record.record === recipe);
  return (
    <Screen
      question="Did a change help?"
      state={{
        network,
        revision: daysOf(span),
        ...(answer.data && { asOf: answer.dataUpdatedAt }),
      }}
      lead="Pick a recipe: its revisions are set side by side, each against the one before."
      aside={
        <Held
          span={span}
          answered={answer.data?.asOf}
          onHold={(asOf) => show({ ...querySpan({ ...span, asOf }, today), recipe })}
        />
      }
    >
      {recipes.error && (
        <Failure
          fault={faultOf(recipes.error)}
          title="The recipes could not be listed"
          onRetry={() => void recipes.refetch()}
          retrying={recipes.isFetching}
        />
      )}
      {recipes.data && records.length === 0 ? (
        <Empty title="No recipe is approved yet.">
          <p>There is nothing to compare until a recipe has been in use.</p>
        </Empty>
      ) : (
        <Select
          label="Recipe"
          none="Choose a recipe"
          value={recipe}
          options={[
            ...records.map((record) => ({
              value: record.record,
              words: record.newest?.title || record.record,
            })),
            ...(recipe !== "" && !listed ? [{ value: recipe, words: recipe }] : []),
          ]}
          onChange={(chosen) => show({ ...querySpan(span, today), recipe: chosen })}
        />
      )}
      <Answered query={answer} what="the revisions" failed="The revisions could not be compared">
        {(data) =>
          data.revisions.length > 0 ? (
            <RevisionRates answer={data} name={`revisions-${span.toDay}`} />
          ) : (
            <Empty title="Nobody worked by this recipe in these days.">
              <p>Choose other days, or another recipe.</p>
            </Empty>
          )
        }
      </Answered>
      <Part title="Days">
        <SpanForm
          key={JSON.stringify(span)}
          span={span}
          filters={["market"]}
          onShow={(chosen) => show({ ...querySpan(chosen, today), recipe })}
        />
      </Part>
    </Screen>
  );
}
