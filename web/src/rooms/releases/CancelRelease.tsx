import { useMutation } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { Button } from "../../kit/Button.tsx";
import { Dialog } from "../../kit/Dialog.tsx";
import { TextField } from "../../kit/Field.tsx";
import { Failure } from "../../kit/Notice.tsx";
import { uuid } from "../../kit/uuid.ts";
import { ReleaseService } from "../../proto/evenpeel/recipes/v1/release_service_pb.ts";

/** CancelRelease cancels a scheduled release by a new one: numbers have no gaps and nothing is unsaid. */
export function CancelRelease({ number }: { number: bigint }) {
  const queries = useQueryClient();
  const cancel = useMutation(ReleaseService.method.cancelRelease);
  const [open, setOpen] = useState(false);
  const [reason, setReason] = useState("");
  const [requestId] = useState(uuid);
  async function send() {
    const answer = await cancel.mutateAsync({ number, reason, requestId }).catch(() => null); // shown from error
    if (!answer) return;
    setOpen(false);
    await queries.invalidateQueries();
  }
  return (
    <>
      <Button kind="danger" onClick={() => setOpen(true)}>
        Cancel it
      </Button>
      <Dialog
        open={open}
        onClose={() => setOpen(false)}
        title={`Cancel release ${number}?`}
        actions={
          <Button
            kind="danger"
            pending={cancel.isPending}
            pendingWords="Cancelling…"
            onClick={() => void send()}
          >
            Cancel release {String(number)}
          </Button>
        }
      >
        <p>It stays on the line as cancelled, and what is in force now goes on.</p>
        {cancel.error && <Failure title="It was not cancelled" fault={faultOf(cancel.error)} />}
        <TextField label="Why" optional lines={2} maxLength={2000} value={reason} onChange={setReason} />
      </Dialog>
    </>
  );
}
