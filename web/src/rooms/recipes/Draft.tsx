import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useMemo, useState } from "react";
import { useLocation, useParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords } from "../../app/paths.ts";
import { mayWrite } from "../../app/roles.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Dialog } from "../../kit/Dialog.tsx";
import { TextField } from "../../kit/Field.tsx";
import type { FieldFault } from "../../kit/fault.ts";
import { ErrorSummary, Failure, Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Loading } from "../../kit/Waiting.tsx";
import { DeskService, type Draft, DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { ContentForm } from "./ContentForm.tsx";
import { allowedIn, caseOf, currencyIn, kinds, recipeIn, withList, withoutEmptyLines } from "./content.ts";
import { DraftFoot } from "./DraftFoot.tsx";
import { EditingContext } from "./FieldInput.tsx";
import { faultsOfDraft, inPageWords } from "./faults.ts";
import { changes, closed, contentOf } from "./keeper.ts";
import { MovedOn } from "./MovedOn.tsx";
import { PriceGrid } from "./PriceGrid.tsx";
import { RecipePicture } from "./RecipePicture.tsx";
import { Seen } from "./Seen.tsx";
import { rememberUnsent } from "./unsent.ts";
import { useWriting } from "./useWriting.ts";
import { draftStateWords } from "./writing.ts";

const updatedAt = (draft: Draft) => Number(draft.updateTime?.seconds ?? 0n) * 1000;

/** DraftScreen loads one draft and hands it to its editor, which then keeps what is typed. */
export default function DraftScreen() {
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
  if (query.data?.draft) return <Editor key={query.data.draft.name} opened={query.data.draft} />;
  return (
    <Screen question="Is this draft complete?" state={{ network }}>
      {query.error ? (
        <Failure
          title="The draft could not be loaded"
          fault={faultOf(query.error)}
          onRetry={() => void query.refetch()}
          retrying={query.isFetching}
        />
      ) : (
        <Loading what="the draft" />
      )}
    </Screen>
  );
}

function Editor({ opened }: { opened: Draft }) {
  const network = useNetwork();
  const person = usePerson();
  const units = useUnits();
  const queries = useQueryClient();
  const [, go] = useLocation();
  const [writing, keeper] = useWriting(opened);
  const { held, typed, unread, theirs, fault } = writing;
  const [attempt, setAttempt] = useState(0);
  const [discarding, setDiscarding] = useState(false);

  const ask = useMutation(DeskService.method.askSecondLook);
  const discard = useMutation(DeskService.method.discardDraft);

  const kind = kinds[caseOf(held.record)];
  const { fields } = kind;
  const { paths: changed } = changes(writing);

  const onPage = useMemo<FieldFault[]>(() => {
    const known = [...unread].map(([path, words]) => ({ path, words }));
    const told = fault?.fields.length ? fault.fields : faultsOfDraft(held.faults);
    return inPageWords([...known, ...told.filter((one) => !unread.has(one.path))], fields);
  }, [unread, fault, held.faults, fields]);
  // An unfinished draft is not scolded before its author says that it is finished; what the service refused to
  // keep is said at once.
  const tried = attempt > 0;
  const scold = tried || (fault?.fields.length ?? 0) > 0;
  const editing = useMemo(
    () => ({
      unread,
      tell: keeper.tell,
      currency: currencyIn(typed),
      wrongWithin: (path: string) =>
        scold && onPage.some((one) => one.path.startsWith(`${path}.`) || one.path.startsWith(`${path}[`)),
      allowedAt: (path: string) => allowedIn(typed, path),
      faultAt: (path: string) => (scold ? onPage.find((one) => one.path === path)?.words : undefined),
    }),
    [unread, keeper, typed, onPage, scold],
  );

  async function save() {
    if (unread.size > 0) setAttempt((count) => count + 1);
    return keeper.save();
  }

  async function askForLook() {
    setAttempt((count) => count + 1);
    const saved = await keeper.save();
    if (!saved) return;
    try {
      const answer = await ask.mutateAsync({ name: saved.name, etag: saved.etag });
      if (answer.draft) keeper.hold(answer.draft);
      void queries.invalidateQueries({ predicate: (query) => query.gcTime > 0 });
    } catch (error) {
      await keeper.fail(faultOf(error));
      setAttempt((count) => count + 1);
    }
  }

  async function discardDraft() {
    setDiscarding(false);
    try {
      await discard.mutateAsync({ name: held.name, etag: held.etag });
      rememberUnsent(held.name, person.name, null);
      await queries.invalidateQueries();
      go(paths.recipes);
    } catch (error) {
      await keeper.fail(faultOf(error));
    }
  }

  const recipe = recipeIn(typed);
  const readOnly = closed(held)
    ? "This draft is closed."
    : mayWrite(person)
      ? undefined
      : "Only an office editor or approver changes drafts.";
  const stop = readOnly ?? (theirs ? "Choose between both sides first." : undefined);
  return (
    <Screen
      question={`Is this ${kind.words} complete and right?`}
      failed={tried && (onPage.length > 0 || fault !== null)}
      state={{
        network,
        asOf: updatedAt(held),
        revision: `${held.record}, draft${held.baseNumber > 0n ? ` from revision ${held.baseNumber}` : ", first revision"}, ${draftStateWords[held.state]}`,
      }}
      lead={`Written by ${personWords(held.author)}, saved last by ${personWords(held.saver)}.`}
    >
      {held.state === DraftState.REFUSED && (
        <Notice kind="caution" title="It was sent back.">
          <p>{held.refusal}</p>
        </Notice>
      )}
      {tried && <ErrorSummary faults={onPage} attempt={attempt} />}
      {tried && fault && fault.fields.length === 0 && (
        <Seen key={`${fault.reason} ${fault.reference}`} label="What was not done">
          <Failure title="This was not done" fault={fault} />
        </Seen>
      )}
      {theirs && (
        <Seen label="Two people changed this draft">
          <MovedOn
            base={contentOf(held)}
            theirs={contentOf(theirs)}
            mine={withoutEmptyLines(typed)}
            saver={personWords(theirs.saver)}
            onJoin={keeper.join}
          />
        </Seen>
      )}
      {recipe && <RecipePicture recipe={recipe} changed={changed} label="Press cycle as typed" />}
      <EditingContext value={editing}>
        {typed.content.case === "priceList" && !readOnly && (
          <PriceGrid list={typed.content.value} onAccept={(list) => keeper.change(withList(typed, list))} />
        )}
        <ContentForm content={typed} onChange={keeper.change} />
        <Part title="Why">
          <div data-own-undo>
            <TextField
              label="Why the change is made"
              hint="For the person who takes the second look, and for later."
              lines={3}
              maxLength={2000}
              value={writing.reason}
              onChange={keeper.giveReason}
            />
          </div>
        </Part>
      </EditingContext>
      <DraftFoot
        writing={writing}
        readOnly={readOnly}
        stop={stop}
        asking={ask.isPending}
        onAsk={() => void askForLook()}
        onSave={() => void save()}
        onUndo={keeper.undo}
        onRedo={keeper.redo}
        onDiscard={() => setDiscarding(true)}
      />
      <Dialog
        open={discarding}
        onClose={() => setDiscarding(false)}
        title="Discard this draft for good?"
        actions={
          <Button kind="danger" onClick={() => void discardDraft()}>
            Discard the draft
          </Button>
        }
      >
        <p>What was approved before stays as it is.</p>
      </Dialog>
      <small>
        Numbers are in your units ({units.choice.temperature === "C" ? "°C" : "°F"}, {units.choice.pressure});
        what is kept does not depend on them.
      </small>
    </Screen>
  );
}
