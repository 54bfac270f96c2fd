import { useState } from "react";
import { lastPart, paths, withQuery } from "../../app/paths.ts";
import { useNetwork, usePerson } from "../../app/session.tsx";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { Dialog } from "../../kit/Dialog.tsx";
import { Notice } from "../../kit/Notice.tsx";
import { useNow } from "../../kit/now.ts";
import { Part, Screen } from "../../kit/Screen.tsx";
import { Empty, KeepingMark, Loading } from "../../kit/Waiting.tsx";
import { showAge } from "../../units/durations.ts";
import styles from "./bench.module.css";
import { NoBranch } from "./NoBranch.tsx";
import { discard, type Entry } from "./outbox.ts";
import { useOutbox } from "./useOutbox.ts";

const question = "What is not yet sent?";

/** WaitingScreen lists what is kept on this tablet until the server confirms it. */
export default function WaitingScreen() {
  const { branch } = usePerson();
  return branch === "" ? <NoBranch question={question} /> : <Listed branch={branch} />;
}

function Listed({ branch }: { branch: string }) {
  const network = useNetwork();
  const { entries, refused, sending, sendNow } = useOutbox(branch);
  const [leaving, setLeaving] = useState<Entry | null>(null);
  const open = entries?.filter(({ keeping }) => keeping !== "confirmed") ?? [];
  const confirmed = entries?.filter(({ keeping }) => keeping === "confirmed") ?? [];
  return (
    <Screen question={question} state={{ network }}>
      {refused && <Notice kind="block" title={refused} />}
      {entries === null && !refused && <Loading what="the outbox" />}
      {entries !== null && open.length === 0 && (
        <Empty title="Everything is sent." action={<ButtonLink to={paths.bench}>To the bench</ButtonLink>}>
          <p>Outcomes are saved here first and leave the list when the server has confirmed them.</p>
        </Empty>
      )}
      {open.length > 0 && (
        <>
          <Actions>
            <Button kind="main" pending={sending} pendingWords="Sending…" onClick={() => void sendNow()}>
              Send now
            </Button>
          </Actions>
          <ul aria-label="Waiting">
            {open.map((entry) => (
              <Row key={entry.id} entry={entry} onLeave={() => setLeaving(entry)} />
            ))}
          </ul>
        </>
      )}
      {confirmed.length > 0 && (
        <Part title="Confirmed in the last day">
          <ul aria-label="Confirmed">
            {confirmed.map((entry) => (
              <Row key={entry.id} entry={entry} />
            ))}
          </ul>
        </Part>
      )}
      <Dialog
        open={leaving !== null}
        onClose={() => setLeaving(null)}
        title="Discard this entry for good?"
        actions={
          <Button
            kind="danger"
            onClick={() => {
              if (leaving) void discard(leaving.id);
              setLeaving(null);
            }}
          >
            Discard
          </Button>
        }
      >
        <p>
          {leaving?.title}. It is on this tablet only: head office will never see it, and film will be missing
          from the count.
        </p>
      </Dialog>
    </Screen>
  );
}

function Row({ entry, onLeave }: { entry: Entry; onLeave?: () => void }) {
  const now = useNow(30_000);
  return (
    <li className={styles.entry}>
      <div>
        <b>{entry.title}</b> <small>{showAge(entry.savedAt, now)}</small>
      </div>
      <KeepingMark keeping={entry.keeping} />
      {entry.refusal && (
        <Notice kind="block" title="The server did not take it.">
          <p>{entry.refusal.words}</p>
          {entry.refusal.fields.map(({ path, words }) => (
            <p key={path + words}>
              {path} {words}
            </p>
          ))}
          {entry.refusal.reference !== "" && <small>Reference {entry.refusal.reference}</small>}
        </Notice>
      )}
      {entry.tries > 0 && !entry.refusal && entry.keeping !== "confirmed" && (
        <small>
          Tried {entry.tries === 1 ? "once" : `${entry.tries} times`}; the service was not reached. It is
          tried again by itself.
        </small>
      )}
      {onLeave && (
        <div className={styles.files}>
          {entry.refusal && entry.kind === "run" && (
            <ButtonLink to={withQuery(paths.outcome(lastPart(entry.order)), { entry: entry.id })}>
              Fix
            </ButtonLink>
          )}
          {/* A draw that the roll is too short for goes once the roll is counted again: then "Send now". */}
          {entry.refusal && entry.kind === "draw" && <ButtonLink to={paths.stock}>Count the roll</ButtonLink>}
          <Button kind="danger" onClick={onLeave}>
            Discard
          </Button>
        </div>
      )}
    </li>
  );
}
