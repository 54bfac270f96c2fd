import { useMutation } from "@connectrpc/connect-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { Button } from "../../kit/Button.tsx";
import { useUnits } from "../../kit/choices.ts";
import { Dialog } from "../../kit/Dialog.tsx";
import { Checkbox } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { AccessService, type Person } from "../../proto/evenpeel/access/v1/access_service_pb.ts";

type EndSessionsProps = {
  /** Whose sessions; null while nobody is asked about. */
  person: Person | null;
  /** Name of who asks: ending one's own sessions signs out here too. */
  self: string;
  onClose: () => void;
  onEnded: (words: string) => void;
};

/** EndSessions asks once more before a person is signed out everywhere. */
export function EndSessions({ person, self, onClose, onEnded }: EndSessionsProps) {
  const units = useUnits();
  const [bar, setBar] = useState(false);
  const end = useMutation(AccessService.method.endSessions);
  const leave = () => {
    setBar(false);
    end.reset();
    onClose();
  };
  async function send(whom: Person) {
    try {
      const { endedCount } = await end.mutateAsync({ name: whom.name, bar });
      const count = endedCount === 1 ? "1 session" : `${units.count(endedCount)} sessions`;
      onEnded(`${count} of ${whom.title} ended.${bar ? " They are kept out from now on." : ""}`);
      leave();
    } catch {
      // shown from end.error
    }
  }
  return (
    <Dialog
      open={person !== null}
      onClose={leave}
      title={`End every session of ${person?.title ?? ""}?`}
      actions={
        person && (
          <Button
            kind="danger"
            pending={end.isPending}
            pendingWords="Ending…"
            onClick={() => void send(person)}
          >
            End sessions
          </Button>
        )
      }
    >
      <p>
        {person?.name === self
          ? "This is you: you will have to sign in again here too."
          : "They will have to sign in again on every device. What a tablet has not sent yet stays on it."}
      </p>
      {person?.name !== self && (
        <Checkbox
          label="Keep them out from now on"
          hint="For somebody who has left, or a lost tablet with a known password."
          checked={bar}
          onChange={setBar}
        />
      )}
      {end.error && <Failure fault={faultOf(end.error)} title="The sessions were not ended" />}
    </Dialog>
  );
}
