// Unsent is what was typed into a draft and not saved yet, kept in this browser until the service has it.
import { fromJson, toJson } from "@bufbuild/protobuf";
import { type Draft, DraftSchema } from "../../proto/evenpeel/recipes/v1/desk_service_pb.ts";
import { type Content, ContentSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { keep, recordOf } from "../../units/kept.ts";
import { filled } from "./content.ts";

export type Unsent = {
  /** The draft as it was when the typing began. */
  base: Draft;
  typed: Content;
  reason: string;
};

const stored = (draft: string, person: string) =>
  keep<unknown>(`evenpeel:unsent:${draft}:${person}`, (found) => found);

/** rememberUnsent keeps what this person typed, or forgets it once the service has it. */
export function rememberUnsent(draft: string, person: string, unsent: Unsent | null): void {
  stored(draft, person).set(
    unsent && {
      base: toJson(DraftSchema, unsent.base),
      typed: toJson(ContentSchema, unsent.typed),
      reason: unsent.reason,
    },
  );
}

/** unsentOf gives what this person left; null for nothing, or for what an older page kept in another way. */
export function unsentOf(draft: string, person: string): Unsent | null {
  const was = recordOf(stored(draft, person).value());
  if (!was.base || !was.typed) return null;
  try {
    return {
      base: fromJson(DraftSchema, was.base as never),
      typed: filled(fromJson(ContentSchema, was.typed as never)),
      reason: typeof was.reason === "string" ? was.reason : "",
    };
  } catch {
    return null;
  }
}
