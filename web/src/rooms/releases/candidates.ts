// Candidates are the revisions that a release may name: of each record the newest, or the one asked for.
import type { RecordSummary } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { partsOf } from "./writing.ts";

export type Candidate = {
  /** "recipes/glimmer-cotton/revisions/3" */
  revision: string;
  words: string;
  /** As "EU=3". */
  inForce: readonly string[];
  /** Ticked when the form opens. */
  chosen: boolean;
};

/**
 * candidatesOf lists one revision a record. Where revisions are wanted by name (a going back, or one just approved),
 * exactly those are chosen; otherwise the newest ones that are in force nowhere. What is chosen comes first.
 */
export function candidatesOf(records: readonly RecordSummary[], wanted: readonly string[]): Candidate[] {
  const all = records.flatMap((record) => {
    const newest = record.newest;
    if (!newest) return [];
    const named = wanted.find((name) => partsOf(name)?.record === record.record);
    const revision = named ?? newest.name;
    const number = partsOf(revision)?.number ?? Number(newest.number);
    const older = number < Number(newest.number) ? `, going back from ${newest.number}` : "";
    const inForce = record.inForce.some((entry) => entry.endsWith(`=${number}`));
    return [
      {
        revision,
        words: `${newest.title || record.record}, revision ${number}${older}`,
        inForce: record.inForce,
        chosen: wanted.length > 0 ? named !== undefined : !inForce,
      },
    ];
  });
  // What is ticked stands on top, where it is seen; the rest keeps its order.
  return [...all.filter((one) => one.chosen), ...all.filter((one) => !one.chosen)];
}
