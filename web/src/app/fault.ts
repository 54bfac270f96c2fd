// Errors of calls as a Fault: the server's own words where it sent them, honest words where it did not.
import { Code, ConnectError } from "@connectrpc/connect";
import type { Fault, FaultKind } from "../kit/fault.ts";
import { FaultSchema } from "../proto/evenpeel/record/v1/fault_pb.ts";

const kinds: readonly FaultKind[] = [
  "NOT_FOUND",
  "INVALID",
  "MOVED_ON",
  "NOT_ALLOWED",
  "NOT_SIGNED_IN",
  "NOT_READY",
  "TOO_LARGE",
  "GONE",
  "UNAVAILABLE",
  "BROKEN",
];

/** faultOf turns whatever a call threw into a Fault. */
export function faultOf(error: unknown): Fault {
  const from = ConnectError.from(error);
  const detail = from.findDetails(FaultSchema)[0];
  if (detail) {
    return {
      // A newer server may send a kind this page does not know; its words still hold.
      kind: kinds.find((kind) => kind === detail.kind) ?? "BROKEN",
      room: detail.room,
      reason: detail.reason,
      words: detail.words,
      fields: detail.fields.map(({ path, words }) => ({ path, words })),
      facts: new Map(detail.facts.map(({ key, value }) => [key, value])),
      reference: detail.reference,
    };
  }
  return plain(from);
}

function plain(from: ConnectError): Fault {
  const fault = (kind: FaultKind, words: string): Fault => ({
    kind,
    room: "app",
    reason: kind,
    words,
    fields: [],
    facts: new Map(),
    reference: from.metadata.get("x-request-id") ?? "",
  });
  // fetch throws a TypeError when nothing was reached; connect keeps it as the cause.
  if (from.cause instanceof TypeError) return fault("UNREACHED", "The service could not be reached.");
  switch (from.code) {
    case Code.Unauthenticated:
      return fault("NOT_SIGNED_IN", "Nobody is signed in here, or the session has ended.");
    case Code.PermissionDenied:
      return fault("NOT_ALLOWED", "This may not be done by the person signed in.");
    case Code.NotFound:
      return fault("NOT_FOUND", "There is nothing at this address.");
    case Code.ResourceExhausted:
      return fault("TOO_LARGE", "This is more than the service takes at once.");
    case Code.Unavailable:
    case Code.DeadlineExceeded:
      return fault("UNAVAILABLE", "The service did not answer in time.");
    default:
      return fault("BROKEN", "Something went wrong here.");
  }
}
