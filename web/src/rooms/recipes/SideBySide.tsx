import { useQuery } from "@connectrpc/connect-query";
import { Redirect, useParams, useSearchParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths } from "../../app/paths.ts";
import { useNetwork } from "../../app/session.tsx";
import { Actions, ButtonLink } from "../../kit/Button.tsx";
import { Failure, Notice } from "../../kit/Notice.tsx";
import { Screen } from "../../kit/Screen.tsx";
import { Empty, Loading } from "../../kit/Waiting.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import type { Content } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { Comparison } from "./Comparison.tsx";
import { caseOf, filled, kinds } from "./content.ts";
import { contentIn } from "./revisions.ts";
import { SidePicker } from "./SidePicker.tsx";

/** SideBySide compares any two revisions or drafts of one kind; both names stand in the address. */
export default function SideBySide() {
  const [view, setView] = useSearchParams();
  const network = useNetwork();
  const [left, right] = [view.get("left") ?? "", view.get("right") ?? ""];
  const one = useSide(left);
  const other = useSide(right);
  const failed = [one, other].find((side) => side.error);
  const change = (changes: Record<string, string>) =>
    setView(
      (before) => {
        const next = new URLSearchParams(before);
        for (const [name, value] of Object.entries(changes))
          if (value === "") next.delete(name);
          else next.set(name, value);
        return next;
      },
      { replace: true },
    );
  const comparable = one.content && other.content && one.content.content.case === other.content.content.case;
  return (
    <Screen
      question="What is different?"
      state={{ network, revision: `${one.words} against ${other.words}` }}
      failed={failed !== undefined}
    >
      {failed && (
        <Failure
          title={`${failed.words} could not be loaded`}
          fault={faultOf(failed.error)}
          onRetry={failed.retry}
        />
      )}
      {!failed && (left === "" || right === "") && (
        <Empty title="Choose what to set side by side.">
          <p>Two revisions of one record, or of two records of a kind.</p>
        </Empty>
      )}
      {!failed && left !== "" && right !== "" && (!one.content || !other.content) && (
        <Loading what="both sides" />
      )}
      {one.content && other.content && !comparable && (
        <Notice kind="caution" title="These two are of different kinds.">
          <p>A recipe can be set beside a recipe, a price list beside a price list.</p>
        </Notice>
      )}
      {comparable && one.content && other.content && (
        <Comparison
          left={{ words: one.words, content: one.content, revision: left }}
          right={{ words: other.words, content: other.content, revision: right }}
          view={{ all: view.get("all") === "yes", film: view.get("film") ?? "" }}
          onView={({ all, film }) => change({ all: all ? "yes" : "", film })}
        />
      )}
      <SidePicker words="Left" chosen={left} onChoose={(name) => change({ left: name })} />
      <SidePicker words="Right" chosen={right} onChoose={(name) => change({ right: name })} />
      <Actions>
        <ButtonLink to={paths.sideBySide(right, left)}>Swap the sides</ButtonLink>
        {one.record !== "" && <ButtonLink to={placeOf(one.record)}>Back to {one.record}</ButtonLink>}
      </Actions>
    </Screen>
  );
}

/** placeOf gives the screen on which a record is read. */
function placeOf(record: string): string {
  switch (kinds[caseOf(record)].folder) {
    case "recipes":
      return paths.recipe(lastPart(record));
    case "prices":
      return paths.priceList(lastPart(record));
    default:
      return `${paths.papers}?open=${encodeURIComponent(record)}`;
  }
}

/** RecipeSides keeps older links alive: two revisions of one recipe by their numbers. */
export function RecipeSides() {
  const { recipe = "", left = "", right = "" } = useParams();
  const name = (number: string) => `recipes/${recipe}/revisions/${number}`;
  return <Redirect to={paths.sideBySide(name(left), name(right))} replace />;
}

type LoadedSide = {
  record: string;
  words: string;
  content: Content | null;
  error: unknown;
  retry: () => void;
};

/** useSide loads "recipes/x/revisions/3" or "drafts/d". */
function useSide(name: string): LoadedSide {
  const isDraft = name.startsWith("drafts/");
  const [, record = "", number = "0"] = /^([a-z]+\/[a-z0-9-]+)\/revisions\/(\d{1,15})$/.exec(name) ?? [];
  const revision = useQuery(
    CatalogService.method.getRevision,
    { record, number: BigInt(number) },
    { enabled: record !== "" },
  );
  const draft = useQuery(DeskService.method.getDraft, { name }, { enabled: isDraft });
  if (isDraft) {
    const content = draft.data?.draft?.content;
    const of = draft.data?.draft?.record ?? "";
    return {
      record: of,
      words: of ? `draft of ${lastPart(of)}` : "a draft",
      content: content ? filled(content) : null,
      error: draft.error,
      retry: () => void draft.refetch(),
    };
  }
  return {
    record,
    words: record ? `${lastPart(record)}, revision ${number}` : "nothing chosen",
    content: contentIn(revision.data?.sealed),
    error: revision.error,
    retry: () => void revision.refetch(),
  };
}
