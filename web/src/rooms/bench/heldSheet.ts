// The settings sheet as this tablet holds it: what is in force and what comes next, with the signed releases that say
// so. It is kept whole and swapped at once, and checked again whenever it is read, since a kept file can be changed too.
import { clone, create, fromBinary, toBinary } from "@bufbuild/protobuf";
import {
  type PullSheetResponse,
  PullSheetResponseSchema,
} from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { tablet } from "./tablet.ts";
import { check, type Held, type Named } from "./trust.ts";

export type HeldSheet = {
  pulled: PullSheetResponse;
  /** When it was pulled, by this tablet's clock. */
  asOf: number;
  /** What the server's clock was ahead of this tablet's then, in ms. */
  ahead: number;
  /** What its signed releases name. */
  named: Named;
};

/** trusted gives what a later pull must not fall behind. */
export const trusted = ({ pulled }: HeldSheet): Held => ({
  officeKey: pulled.officeKey,
  newestRelease: pulled.newestRelease,
  releases: new Map(pulled.releases.map(({ number, sha256 }) => [number, sha256])),
});

/** joinedWith puts what came on top of what was held: the server sends only what changed since. */
export function joinedWith(held: HeldSheet | null, came: PullSheetResponse): PullSheetResponse {
  const whole = clone(PullSheetResponseSchema, came);
  if (!held) return whole;
  const named = new Set(
    [came.current, came.next].flatMap((sheet) => sheet?.entries.map(({ revision }) => revision) ?? []),
  );
  const here = new Set(came.records.map(({ name }) => name));
  whole.records.push(...held.pulled.records.filter(({ name }) => named.has(name) && !here.has(name)));
  const numbers = new Set(came.releases.map(({ number }) => number));
  whole.releases.push(...held.pulled.releases.filter(({ number }) => !numbers.has(number)));
  return whole;
}

/** readHeld gives the kept sheet, checked; null where there is none. Fails with Distrust. */
export async function readHeld(branch: string): Promise<HeldSheet | null> {
  const found = await (await tablet()).get("sheets", branch);
  if (!found) return null;
  const pulled = fromBinary(PullSheetResponseSchema, found.bytes);
  const named = await check(pulled, null);
  return { pulled, asOf: found.asOf, ahead: found.ahead, named };
}

/** keepHeld swaps the kept sheet for another. */
export async function keepHeld(branch: string, { pulled, asOf, ahead }: HeldSheet): Promise<void> {
  const bytes = toBinary(PullSheetResponseSchema, create(PullSheetResponseSchema, pulled));
  await (await tablet()).put("sheets", { branch, bytes, asOf, ahead });
}

/** forgetHeld lets the next pull be as on the first day: its key is taken as it comes. */
export async function forgetHeld(branch: string): Promise<void> {
  await (await tablet()).delete("sheets", branch);
}

/** effectiveAt gives the instant of the next sheet by this tablet's clock; null where nothing comes next. */
export function effectiveAt({ pulled, ahead }: HeldSheet): number | null {
  const time = pulled.next?.effectiveTime;
  return time ? Number(time.seconds) * 1_000 - ahead : null;
}
