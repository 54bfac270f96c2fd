import { create } from "@bufbuild/protobuf";
import { useMutation, useQuery } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useCallback, useEffect, useMemo, useState } from "react";
import { useLocation, useParams } from "wouter";
import { faultOf } from "../../app/fault.ts";
import { paths, personWords } from "../../app/paths.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Dialog } from "../../kit/Dialog.tsx";
import { TextField } from "../../kit/Field.tsx";
import type { Fault, FieldFault } from "../../kit/fault.ts";
import { ErrorSummary, Failure, Notice } from "../../kit/Notice.tsx";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Loading, Status } from "../../kit/Waiting.tsx";
import { DeskService, type Draft, DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { type Content, ContentSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { ContentForm } from "./ContentForm.tsx";
import {
  caseOf,
  changedPaths,
  currencyIn,
  filled,
  kinds,
  recipeIn,
  withoutEmptyLines,
  withPaths,
} from "./content.ts";
import styles from "./Draft.module.css";
import { EditingContext } from "./FieldInput.tsx";
import { faultsOfDraft, inPageWords } from "./faults.ts";
import { MovedOn } from "./MovedOn.tsx";
import { RecipePicture } from "./RecipePicture.tsx";
import { mayWrite } from "./roles.ts";
import { Seen } from "./Seen.tsx";
import { draftStateWords } from "./writing.ts";

const contentOf = (draft: Draft): Content => filled(draft.content ?? create(ContentSchema));
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
  const [held, setHeld] = useState(opened);
  const [typed, setTyped] = useState(() => contentOf(opened));
  const [reason, setReason] = useState(opened.reason);
  const [unread, setUnread] = useState<ReadonlyMap<string, string>>(new Map());
  const [theirs, setTheirs] = useState<Draft | null>(null);
  const [fault, setFault] = useState<Fault | null>(null);
  const [attempt, setAttempt] = useState(0);
  const [done, setDone] = useState("");
  const [discarding, setDiscarding] = useState(false);

  const update = useMutation(DeskService.method.updateDraft);
  const ask = useMutation(DeskService.method.askSecondLook);
  const discard = useMutation(DeskService.method.discardDraft);
  const busy = update.isPending || ask.isPending || discard.isPending;

  const kind = kinds[caseOf(held.record)];
  const fields = kind.fields;
  const changed = changedPaths(contentOf(held), withoutEmptyLines(typed));
  // The service keeps the reason that stands where an empty one is sent.
  const newReason = reason !== "" && reason !== held.reason;
  const dirty = changed.length > 0 || newReason || unread.size > 0;
  const closed = held.state === DraftState.APPROVED || held.state === DraftState.DISCARDED;

  useEffect(() => {
    if (!dirty) return;
    const warn = (event: BeforeUnloadEvent) => event.preventDefault();
    window.addEventListener("beforeunload", warn);
    return () => window.removeEventListener("beforeunload", warn);
  }, [dirty]);

  const tell = useCallback((path: string, words: string | null) => {
    setUnread((before) => {
      const next = new Map(before);
      if (words === null) next.delete(path);
      else next.set(path, words);
      return next;
    });
  }, []);

  const onPage = useMemo<FieldFault[]>(() => {
    const known = [...unread].map(([path, words]) => ({ path, words }));
    const told = fault?.fields.length ? fault.fields : faultsOfDraft(held.faults);
    return inPageWords([...known, ...told.filter((one) => !unread.has(one.path))], fields);
  }, [unread, fault, held.faults, fields]);
  // An unfinished draft is not scolded before its author says that it is finished.
  const tried = attempt > 0;
  const editing = useMemo(
    () => ({
      unread,
      tell,
      currency: currencyIn(typed),
      wrongWithin: (path: string) =>
        tried && onPage.some((one) => one.path.startsWith(`${path}.`) || one.path.startsWith(`${path}[`)),
      faultAt: (path: string) => (tried ? onPage.find((one) => one.path === path)?.words : undefined),
    }),
    [unread, tell, typed, onPage, tried],
  );

  async function failed(error: unknown) {
    const found = faultOf(error);
    if (found.reason === "DRAFT_MOVED_ON") {
      try {
        setTheirs(await read());
        setFault(null);
      } catch (again) {
        setFault(faultOf(again));
      }
      return;
    }
    if (found.fields.length > 0) setAttempt((count) => count + 1);
    setFault(found);
  }

  const reread = useQuery(DeskService.method.getDraft, { name: held.name }, { enabled: false });
  async function read(): Promise<Draft> {
    const answer = await reread.refetch({ throwOnError: true });
    if (!answer.data?.draft) throw new Error("the service sent no draft");
    return answer.data.draft;
  }

  /** save sends only what was changed and gives back what the service then holds; null where it could not. */
  async function save(): Promise<Draft | null> {
    if (busy || closed || theirs) return null;
    setDone("");
    if (unread.size > 0) {
      setAttempt((count) => count + 1);
      return null;
    }
    if (!dirty) return held;
    const sent = withoutEmptyLines(typed);
    try {
      const answer = await update.mutateAsync({
        name: held.name,
        content: sent,
        // A mask names at least one field; where only the reason is new, it is one that stays as it is.
        updateMask: { paths: changed.length > 0 ? changed : fields.slice(0, 1).map((field) => field.path) },
        etag: held.etag,
        reason,
      });
      if (!answer.draft) return null;
      const now = contentOf(answer.draft);
      setHeld(answer.draft);
      // What was typed while the answer was on its way stays.
      setTyped((current) => withPaths(now, current, changedPaths(sent, withoutEmptyLines(current))));
      setFault(null);
      setDone(`Saved. ${changed.length === 1 ? "1 field" : `${changed.length} fields`} changed.`);
      return answer.draft;
    } catch (error) {
      await failed(error);
      return null;
    }
  }

  async function askForLook() {
    setAttempt((count) => count + 1);
    const saved = await save();
    if (!saved) return;
    try {
      const answer = await ask.mutateAsync({ name: saved.name, etag: saved.etag });
      if (answer.draft) setHeld(answer.draft);
      void queries.invalidateQueries({ predicate: (query) => query.gcTime > 0 });
      setFault(null);
      setDone(
        "Asked. Another person now sees this draft among the second looks. Saving again takes the question back.",
      );
    } catch (error) {
      await failed(error);
    }
  }

  async function discardDraft() {
    setDiscarding(false);
    try {
      await discard.mutateAsync({ name: held.name, etag: held.etag });
      await queries.invalidateQueries();
      go(paths.recipes);
    } catch (error) {
      await failed(error);
    }
  }

  useEffect(() => {
    const onKey = (event: KeyboardEvent) => {
      if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "s") return;
      event.preventDefault();
      void save();
    };
    window.addEventListener("keydown", onKey);
    return () => window.removeEventListener("keydown", onKey);
  });

  const left = held.faults.length;
  const missing =
    left === 0 || closed
      ? ""
      : ` ${left === 1 ? "1 thing keeps" : `${left} things keep`} it from a second look.`;
  const recipe = recipeIn(typed);
  const readOnly = closed
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
      {fault && fault.fields.length === 0 && (
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
            onJoin={(joined) => {
              setHeld(theirs);
              setTyped(joined);
              setTheirs(null);
              setDone("Both are together now. Nothing is saved yet: look, then save.");
            }}
          />
        </Seen>
      )}
      {recipe && <RecipePicture recipe={recipe} changed={changed} label="Press cycle as typed" />}
      <EditingContext value={editing}>
        <ContentForm content={typed} onChange={setTyped} />
        <Part title="Why">
          <TextField
            label="Why the change is made"
            hint="For the person who takes the second look, and for later."
            lines={3}
            maxLength={2000}
            value={reason}
            onChange={setReason}
          />
        </Part>
      </EditingContext>
      <div className={styles.foot} data-screen-only>
        <Status>
          {done || (dirty ? `Not saved: ${changed.length || "some"} changed.` : "Everything is saved.")}
          {missing}
        </Status>
        <Actions>
          <Button
            kind="main"
            pending={ask.isPending}
            pendingWords="Asking…"
            because={
              stop ?? (held.state === DraftState.ASKED && !dirty ? "It waits for a second look." : undefined)
            }
            onClick={() => void askForLook()}
          >
            Ask for a second look
          </Button>
          {!readOnly && !theirs && (
            <Button
              pending={update.isPending}
              pendingWords="Saving…"
              aria-keyshortcuts="Control+S"
              onClick={() => void save()}
            >
              Save
            </Button>
          )}
          {held.state === DraftState.ASKED && (
            <ButtonLink to={paths.secondLook(held.name.slice("drafts/".length))}>
              See the second look
            </ButtonLink>
          )}
          {!readOnly && (
            <Button kind="plain" onClick={() => setDiscarding(true)}>
              Discard this draft…
            </Button>
          )}
        </Actions>
      </div>
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
