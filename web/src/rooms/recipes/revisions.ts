// Revisions as this room opens them: sealed bytes in, the record out.
import { fromBinary } from "@bufbuild/protobuf";
import type { SealedRecord } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type Content, type Revision, RevisionSchema } from "../../proto/evenpeel/record/v1/record_pb.ts";
import { filled } from "./content.ts";

/** open reads a sealed revision; null where there is none. */
export function open(sealed: SealedRecord | undefined): Revision | null {
  return sealed ? fromBinary(RevisionSchema, sealed.content) : null;
}

/** contentIn gives what a sealed revision says, ready to be shown or edited. */
export function contentIn(sealed: SealedRecord | undefined): Content | null {
  const content = open(sealed)?.content;
  return content ? filled(content) : null;
}
