// Fault is why something could not be done, as the kit shows it. app/fault.ts makes it from what the server sent.

export type FaultKind =
  | "NOT_FOUND"
  | "INVALID"
  | "MOVED_ON"
  | "NOT_ALLOWED"
  | "NOT_SIGNED_IN"
  | "NOT_READY"
  | "TOO_LARGE"
  | "GONE"
  | "UNAVAILABLE"
  | "BROKEN"
  /** The network is away: nothing reached the server, or no answer came back. */
  | "UNREACHED";

export type FieldFault = { readonly path: string; readonly words: string };

export type Fault = {
  readonly kind: FaultKind;
  readonly room: string;
  readonly reason: string;
  /** What is wrong, where, and what to do: for the person. */
  readonly words: string;
  readonly fields: readonly FieldFault[];
  readonly facts: ReadonlyMap<string, string>;
  /** Number of the request, to be read out on the phone; may be empty. */
  readonly reference: string;
};

/** wordsFor gives what is wrong with one field, if anything. */
export function wordsFor(faults: readonly FieldFault[] | undefined, path: string): string | undefined {
  return faults?.find((fault) => fault.path === path)?.words;
}
