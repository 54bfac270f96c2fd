export type Refusal =
  | "ANSWER_MIXED"
  | "ANSWER_TOO_LARGE"
  | "BYTES_CHANGED"
  | "CLOCK_DIFFERS"
  | "FRESHNESS_EXPIRED"
  | "FRESHNESS_MISSING"
  | "FRESHNESS_OLD"
  | "KEY_RETIRED"
  | "RECORD_MISSING"
  | "RECORD_NOT_ASKED"
  | "RECORD_TOO_NEW"
  | "RELEASE_CHAIN_BROKEN"
  | "RELEASE_MISSING"
  | "RELEASE_ROLLED_BACK"
  | "RELEASE_WITHHELD"
  | "SIGNATURE_WRONG";

/** Distrust says why something pulled is not taken; the names are those of recipes/trust.go. */
export class Distrust extends Error {
  readonly reason: Refusal;
  constructor(reason: Refusal, words: string) {
    super(words);
    this.reason = reason;
  }
}
