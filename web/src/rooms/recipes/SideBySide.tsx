import { useQuery } from "@connectrpc/connect-query";
import { useParams, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { Comparison } from "./Comparison.tsx";
import { filled } from "./content.ts";
import { contentIn } from "./revisions.ts";

/** SideBySide compares two revisions of a recipe, or a revision and the open draft. */
export default function SideBySide() {
  const { recipe: id = "", left = "", right = "" } = useParams();
  const [view, setView] = useSearchParams();
  const network = useNetwork();
  const one = useSide(id, left);
  const other = useSide(id, right);
  const failed = [one, other].find((side) => side.error);
  return (
    <Screen
      question="What is different?"
      state={{ network, revision: `recipes/${id}, ${one.words} against ${other.words}` }}
    >
      {failed ? (
        <Failure
          title={`${failed.words} could not be loaded`}
          fault={faultOf(failed.error)}
          onRetry={failed.retry}
        />
      ) : one.missing || other.missing ? (
        <Empty title="This recipe has no open draft.">
          <p>It may have been approved or discarded. Compare two revisions from the recipe’s own page.</p>
        </Empty>
      ) : one.content && other.content ? (
        <Comparison
          left={{ words: one.words, content: one.content }}
          right={{ words: other.words, content: other.content }}
          all={view.get("all") === "yes"}
          onAll={(all) => setView(all ? { all: "yes" } : {}, { replace: true })}
        />
      ) : (
        <Loading what="both sides" />
      )}
      <Actions>
        <ButtonLink to={paths.recipe(id)}>Back to the recipe</ButtonLink>
        <ButtonLink to={`${paths.recipes}/${encodeURIComponent(id)}/compare/${right}/${left}`}>
          Swap the sides
        </ButtonLink>
      </Actions>
    </Screen>
  );
}

type LoadedSide = {
  words: string;
  content: Content | null;
  error: unknown;
  missing: boolean;
  retry: () => void;
};

/** useSide loads a revision by its number, or the open draft. */
function useSide(id: string, which: string): LoadedSide {
  const record = `recipes/${id}`;
  const isDraft = which === "draft";
  const number = /^\d{1,15}$/.test(which) ? BigInt(which) : 0n;
  const revision = useQuery(CatalogService.method.getRevision, { record, number }, { enabled: !isDraft });
  const records = useQuery(CatalogService.method.listRecords, { kind: "recipes" }, { enabled: isDraft });
  const name = records.data?.records.find((one) => one.record === record)?.draft ?? "";
  const draft = useQuery(DeskService.method.getDraft, { name }, { enabled: isDraft && name !== "" });
  const content = draft.data?.draft?.content;
  return {
    words: isDraft ? "open draft" : `revision ${number === 0n ? "newest" : number}`,
    content: isDraft ? (content ? filled(content) : null) : contentIn(revision.data?.sealed),
    error: isDraft ? (records.error ?? draft.error) : revision.error,
    missing: isDraft && records.isSuccess && name === "",
    retry: () => void (isDraft ? records.refetch().then(() => draft.refetch()) : revision.refetch()),
  };
}
