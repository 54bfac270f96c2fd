import { timestampMs } from "@bufbuild/protobuf/wkt";
import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { Link, useLocation, useParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { lastPart, paths, personWords, withQuery } from "../../app/paths.ts";
import { mayReadDrafts, mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Hazards } from "../../kit/drawings/Hazard.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { Facts, Figure, Figures, Part, Screen } from "../../kit/Screen.tsx";
import { Table } from "../../kit/Table.tsx";
import { uuid } from "../../kit/uuid.ts";
import { Loading } from "../../kit/Waiting.tsx";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { DeskService, type RevisionSummary } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import type { Revision, Window } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { showInstant } from "../../units/durations.ts";
import { celsius, kilopascals, seconds } from "../../units/quantities.ts";
import { evidence, inside, recipeIn, valueIn } from "./content.ts";
import styles from "./Pictures.module.css";
import { RecipePicture } from "./RecipePicture.tsx";
import { peelWords } from "./recipeFields.ts";
import { contentIn, open } from "./revisions.ts";
import { Trials } from "./Trials.tsx";
import { shortHash, writeValue } from "./writing.ts";

/** RecipeScreen shows one revision of a recipe to be read: the newest, or the one in the address. */
export default function RecipeScreen() {
  const { recipe: id = "", number } = useParams();
  const record = `recipes/${id}`;
  const network = useNetwork();
  const person = usePerson();
  const units = useUnits();
  const [, go] = useLocation();
  const queries = useQueryClient();
  const [request] = useState(uuid);
  const wanted = number && /^\d{1,15}$/.test(number) ? BigInt(number) : 0n;
  const query = useQuery(CatalogService.method.getRevision, { record, number: wanted });
  const list = useQuery(CatalogService.method.listRevisions, { record });
  const records = useQuery(CatalogService.method.listRecords, { kind: "recipes" });
  const start = useMutation(DeskService.method.createDraft);
  const revision = open(query.data?.sealed);
  const content = contentIn(query.data?.sealed);
  const recipe = recipeIn(content ?? undefined);
  const summary = records.data?.records.find((one) => one.record === record);
  const draft = summary?.draft && mayReadDrafts(person) ? lastPart(summary.draft) : "";

  async function edit() {
    if (!revision) return;
    const answer = await start
      .mutateAsync({ record, baseNumber: revision.number, requestId: request })
      .catch(() => null); // start.error holds it and is shown
    if (!answer?.draft) return;
    void queries.invalidateQueries(); // the lists now have an open draft
    go(paths.draft(lastPart(answer.draft.name)));
  }

  if (!content || !recipe || !revision)
    return (
      <Screen question="What does this recipe say?" state={{ network }}>
        {query.error ? (
          <Failure
            title="The recipe could not be loaded"
            fault={faultOf(query.error)}
            onRetry={() => void query.refetch()}
            retrying={query.isFetching}
          >
            <ButtonLink to={paths.recipes}>All recipes</ButtonLink>
          </Failure>
        ) : (
          <Loading what="the recipe" />
        )}
      </Screen>
    );

  const nameOf = (number: bigint) => `${record}/revisions/${number}`;
  const { fields } = inside(content);
  const window = (kept: Window | undefined, write: (value: bigint) => string) =>
    `allowed ${write(kept?.low ?? 0n)} to ${write(kept?.high ?? 0n)}`;
  const temperature = units.parts("temperature", celsius(recipe.pressTemperatureCelsius?.set ?? 0n));
  const pressure = units.parts("pressure", kilopascals(recipe.pressureKpa?.set ?? 0n));
  const newest = list.data?.revisions[0]?.number ?? revision.number;
  const earlier = (list.data?.revisions ?? []).find((one) => one.number < revision.number);
  return (
    <Screen
      question={recipe.title || record}
      state={{
        network,
        revision: `${record}, revision ${revision.number}${revision.number === newest ? ", the newest" : `, the newest is ${newest}`}`,
        ...(query.dataUpdatedAt > 0 ? { asOf: query.dataUpdatedAt } : {}),
      }}
      lead={
        (summary?.inForce.length ?? 0) > 0
          ? `In force: ${summary?.inForce.map((entry) => entry.replace("=", ", revision ")).join("; ")}.`
          : "Not in force anywhere."
      }
    >
      {start.error && <Failure title="The draft was not started" fault={faultOf(start.error)} />}
      <div className={styles.read}>
        <RecipePicture recipe={recipe} label="Press cycle" />
        <Figures>
          <Figure
            words="Platen"
            number={temperature.number}
            unit={temperature.symbol}
            note={window(recipe.pressTemperatureCelsius, (v) => units.show("temperature", celsius(v)))}
          />
          <Figure
            words="Dwell"
            number={units.count(recipe.dwellSeconds?.set ?? 0n)}
            unit="s"
            note={window(recipe.dwellSeconds, (v) => units.show("duration", seconds(v)))}
          />
          <Figure
            words="Pressure"
            number={pressure.number}
            unit={pressure.symbol}
            note={window(recipe.pressureKpa, (v) => units.show("pressure", kilopascals(v)))}
          />
          <Figure
            words="Peel"
            number={
              peelWords.find((one) => one.value === String(recipe.peel))?.words.split(":")[0] ?? "not stated"
            }
            note={`after ${units.show("duration", seconds(recipe.peelWaitSeconds))}`}
          />
        </Figures>
      </div>
      <Actions>
        {draft ? (
          <ButtonLink kind="main" to={paths.draft(draft)}>
            Go on with the open draft
          </ButtonLink>
        ) : (
          <Button
            kind="main"
            pending={start.isPending}
            because={mayWrite(person) ? undefined : "Only an office editor or approver writes drafts."}
            onClick={() => void edit()}
          >
            Edit as a new draft
          </Button>
        )}
        {earlier && (
          <ButtonLink to={paths.sideBySide(earlier.name, nameOf(revision.number))}>
            Side by side with revision {String(earlier.number)}
          </ButtonLink>
        )}
        {draft && (
          <ButtonLink to={paths.sideBySide(nameOf(revision.number), `drafts/${draft}`)}>
            Side by side with the draft
          </ButtonLink>
        )}
        {mayWrite(person) && (
          <ButtonLink to={withQuery(paths.recipes, { new: "recipes", from: nameOf(revision.number) })}>
            New recipe from this one
          </ButtonLink>
        )}
        <Button onClick={() => globalThis.print()}>Print</Button>
      </Actions>
      <Hazards kinds={["hot", "pinch", "fumes", "blade"]} />
      <div className={styles.read}>
        {[...new Set(fields.filter(({ path }) => path !== evidence).map((field) => field.group))].map(
          (group) => (
            <Part key={group} title={group}>
              <Facts
                facts={fields
                  .filter((field) => field.group === group && !/\.(low|high)$/.test(field.path))
                  .map((field) => {
                    const write = (path: string) => writeValue(field, valueIn(content, path), units, "XXX");
                    const value = write(field.path);
                    if (!field.window)
                      return { words: field.words, value: <span className={styles.lines}>{value}</span> };
                    const stem = field.path.slice(0, -".set".length);
                    return {
                      words: field.window,
                      value: `${value}, allowed ${write(`${stem}.low`)} to ${write(`${stem}.high`)}`,
                    };
                  })}
              />
            </Part>
          ),
        )}
      </div>
      <Trials trials={content.trials} none="No trial was written down with this revision." />
      <Sealed revision={revision} digest={query.data?.sealed?.sha256 ?? new Uint8Array()} />
      <Part title="Revisions">
        {list.error && (
          <Failure
            title="The revisions could not be loaded"
            fault={faultOf(list.error)}
            onRetry={() => void list.refetch()}
          />
        )}
        <Table<RevisionSummary>
          caption="Every approved revision, newest first"
          quietCaption
          rows={list.data?.revisions ?? []}
          keyOf={(one) => one.name}
          marked={(one) => one.number === revision.number}
          columns={[
            {
              key: "number",
              words: "Revision",
              heads: true,
              cell: (one) => (
                <>
                  <Link href={paths.revision(id, Number(one.number))}>Revision {String(one.number)}</Link>
                  {one.number === revision.number && " (shown)"}
                </>
              ),
            },
            {
              key: "when",
              words: "Approved",
              cell: (one) =>
                one.approveTime ? showInstant(timestampMs(one.approveTime), units.locale) : "–",
            },
            {
              key: "who",
              words: "By",
              cell: (one) => `${personWords(one.author)}, approved by ${personWords(one.approver)}`,
            },
            { key: "why", words: "Why", cell: (one) => one.reason || "not said" },
            {
              key: "compare",
              words: "Compare",
              cell: (one) =>
                one.number === revision.number ? (
                  "–"
                ) : (
                  <Link
                    href={paths.sideBySide(
                      ...(one.number < revision.number
                        ? ([one.name, nameOf(revision.number)] as const)
                        : ([nameOf(revision.number), one.name] as const)),
                    )}
                  >
                    side by side<span className="unseen"> with revision {String(one.number)}</span>
                  </Link>
                ),
            },
          ]}
        />
      </Part>
    </Screen>
  );
}

function Sealed({ revision, digest }: { revision: Revision; digest: Uint8Array }) {
  const { locale } = useUnits();
  return (
    <Part title="How it came to be">
      <Facts
        facts={[
          { words: "Why", value: revision.reason || "not said" },
          { words: "Written by", value: personWords(revision.author) },
          { words: "Approved by", value: personWords(revision.approver) },
          {
            words: "Approved at",
            value: revision.approveTime ? showInstant(timestampMs(revision.approveTime), locale) : "–",
          },
          { words: "Sealed as", value: <code>{shortHash(digest)}…</code> },
        ]}
      />
    </Part>
  );
}
