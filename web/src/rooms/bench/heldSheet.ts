// The settings sheet as this tablet holds it: what it trusts about head office, and the sealed records that are in force
// or to come. It is kept whole and swapped at once, and its digests are checked again whenever it is read.
import { timestampMs } from "@bufbuild/protobuf/wkt";
import type { PullSheetResponse } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";
import { type Named, type SheetOfReleases, sheetAt, wanted } from "./signedRelease.ts";
import { hexOf } from "./signing.ts";
import { tablet } from "./tablet.ts";
import { accept, checkedDigest, pinned, releasesOf, type Trusted } from "./trust.ts";

export type HeldRecord = { name: string; content: Uint8Array; sha256: Uint8Array };

export type HeldSheet = {
  trusted: Trusted;
  records: readonly HeldRecord[];
  /** When it was pulled, by this tablet's clock. */
  asOf: number;
  /** What the server's clock was ahead of this tablet's then, in ms. */
  ahead: number;
};

/** taken judges what came on top of what was held, and gives the sheet after it. Fails with Distrust. */
export async function taken(
  held: HeldSheet | null,
  came: PullSheetResponse,
  branch: string,
  now: number,
): Promise<HeldSheet> {
  // On its first day a tablet takes the key as it comes, and keeps to it from then on.
  const before = held?.trusted ?? pinned(came.officeKey, branch, came.market);
  const here = new Set(held?.records.map(({ sha256 }) => hexOf(sha256)));
  const trusted = await accept(before, came, (digest) => here.has(digest), now);
  const ahead = came.serverTime ? timestampMs(came.serverTime) - now : 0;
  const needed = new Set(
    wanted(releasesOf(trusted), trusted.branch, trusted.market, now + ahead).map(({ digest }) => digest),
  );
  const records = [...came.records, ...(held?.records ?? [])]
    .map(({ name, content, sha256 }) => ({ name, content, sha256 }))
    .filter(({ sha256 }) => needed.delete(hexOf(sha256)));
  return { trusted, records, asOf: now, ahead };
}

/** readHeld gives the kept sheet, checked; null where there is none. Fails with Distrust. */
export async function readHeld(branch: string): Promise<HeldSheet | null> {
  const found = await (await tablet()).get("sheets", branch);
  if (!found) return null;
  const { sheet } = found;
  for (const { name, content, sha256 } of sheet.records) await checkedDigest(content, sha256, name);
  return sheet;
}

/** keepHeld swaps the kept sheet for another, but never for an older one: another tab may have been faster. */
export async function keepHeld(sheet: HeldSheet): Promise<void> {
  const { store, done } = (await tablet()).transaction("sheets", "readwrite");
  const kept = await store.get(sheet.trusted.branch);
  if (!kept || kept.sheet.trusted.release <= sheet.trusted.release)
    await store.put({ branch: sheet.trusted.branch, sheet });
  await done;
}

/** forgetHeld lets the next pull be as on the first day: its key is taken as it comes. */
export async function forgetHeld(branch: string): Promise<void> {
  await (await tablet()).delete("sheets", branch);
}

export type Sheets = {
  current: SheetOfReleases;
  next: SheetOfReleases | null;
  /** Everything that is signed for this branch. */
  signed: readonly Named[];
};

/** sheetsOf gives what is in force and what comes next, by the server's clock as this tablet knows it. */
export function sheetsOf({ trusted, ahead }: HeldSheet, now: number): Sheets {
  const releases = releasesOf(trusted);
  const { current, next } = sheetAt(releases, trusted.branch, trusted.market, now + ahead);
  return { current, next, signed: releases.flatMap(({ revisions }) => revisions) };
}
