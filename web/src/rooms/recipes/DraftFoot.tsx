import { paths } from "../../app/paths.ts";
import { Actions, Button, ButtonLink } from "../../kit/Button.tsx";
import { Status } from "../../kit/Waiting.tsx";
import { DraftState } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import styles from "./Draft.module.css";
import { closed, type Keeping, type Writing } from "./keeper.ts";

/** keepingWords says where the typing is kept; while it is on its way nothing is said aloud. */
function keepingWords(keeping: Keeping): string {
  switch (keeping.state) {
    case "saved":
      return "Everything is saved.";
    case "soon":
    case "saving":
      return "";
    case "not saved":
      return `Not saved: ${keeping.why}`;
  }
}

type DraftFootProps = {
  writing: Writing;
  /** Why nothing may be changed here. */
  readOnly: string | undefined;
  /** Why no second look can be asked for. */
  stop: string | undefined;
  asking: boolean;
  onAsk: () => void;
  onSave: () => void;
  onUndo: () => void;
  onRedo: () => void;
  onDiscard: () => void;
};

/** DraftFoot stays at the foot of the screen: whether it is saved, what is still missing, and what can be done. */
export function DraftFoot({ writing, readOnly, stop, asking, ...act }: DraftFootProps) {
  const { held, keeping, history, unread, news } = writing;
  const left = held.faults.length;
  const missing =
    left === 0 || closed(held)
      ? ""
      : `${left === 1 ? "1 thing keeps" : `${left} things keep`} it from a second look.`;
  const asked =
    held.state === DraftState.ASKED && keeping.state === "saved"
      ? "Asked: another person now sees this draft among the second looks."
      : "";
  const onItsWay = keeping.state === "soon" || keeping.state === "saving";
  const nothing = history.past.length === 0 && unread.size === 0;
  return (
    <div className={styles.foot} data-screen-only>
      <div className={styles.kept}>
        {onItsWay && <p aria-hidden="true">Saving…</p>}
        <Status>{[keepingWords(keeping), news, asked, missing].filter(Boolean).join(" ")}</Status>
      </div>
      <Actions>
        <Button
          kind="main"
          pending={asking}
          pendingWords="Asking…"
          because={stop ?? (asked ? "It waits for a second look." : undefined)}
          onClick={act.onAsk}
        >
          Ask for a second look
        </Button>
        {!readOnly && (
          <>
            <Button
              aria-keyshortcuts="Control+Z"
              because={nothing ? "Nothing to undo." : undefined}
              onClick={act.onUndo}
            >
              Undo
            </Button>
            {history.future.length > 0 && (
              <Button aria-keyshortcuts="Control+Shift+Z" onClick={act.onRedo}>
                Redo
              </Button>
            )}
            <Button
              pending={keeping.state === "saving"}
              pendingWords="Saving…"
              aria-keyshortcuts="Control+S"
              onClick={act.onSave}
            >
              Save
            </Button>
          </>
        )}
        {held.state === DraftState.ASKED && (
          <ButtonLink to={paths.secondLook(held.name.slice("drafts/".length))}>
            See the second look
          </ButtonLink>
        )}
        {!readOnly && (
          <Button kind="plain" onClick={act.onDiscard}>
            Discard this draft…
          </Button>
        )}
      </Actions>
    </div>
  );
}
