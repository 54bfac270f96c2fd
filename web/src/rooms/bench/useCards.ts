import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import { useQueryClient } from "@tanstack/react-query";
import { useEffect } from "react";
import {
  BranchesService,
  type Card,
  type ListCardsResponse,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { type Answer, useSaved } from "./saved.ts";
import { hexOf } from "./signing.ts";
import { type Sheet, useHeldSheet } from "./useHeldSheet.ts";
import { type News, useNews } from "./useNews.ts";

export type Cards = Answer<ListCardsResponse> & {
  news: News | null;
  sheet: Sheet;
  /** Since when the cards shown are in force, where they turned over on this tablet by the clock. */
  turned: number | null;
  /** Since when newer settings are in force whose cards are not on this tablet. */
  overdue: number | null;
  /** Whether a card is none of what head office signed. */
  doubted: (card: Card) => boolean;
};

/**
 * useCards gives the cards in force, and turns them over at the instant of the next release, network or not: the next
 * cards are asked for and kept as soon as the next sheet is known.
 */
export function useCards(branch: string): Cards {
  const queries = useQueryClient();
  const now = useSaved(BranchesService.method.listCards, { branch }, `cards:${branch}`);
  const release = now.data ? Number(now.data.release) : undefined;
  const news = useNews(branch, release);
  const sheet = useHeldSheet(branch, Math.max(release ?? 0, news?.release ?? 0) || undefined);
  const { held, sheets } = sheet;
  const current = sheets?.current;
  const behind = current !== undefined && release !== undefined && release < current.release;
  const turning = useCardsAt(branch, behind ? current.effective : null);
  useCardsAt(branch, sheets?.next?.effective ?? null); // kept for the instant
  useEffect(() => {
    if (behind) void queries.invalidateQueries();
  }, [behind, queries]);

  const local = behind && held ? current.effective - held.ahead : null;
  const shown = behind && turning.data ? { ...turning, network: now.network, fault: now.fault } : now;
  return {
    ...shown,
    retry: now.retry,
    news,
    sheet,
    turned: turning.data ? local : null,
    overdue: turning.data ? null : local,
    doubted: (card) =>
      held !== null &&
      sheets !== null &&
      (sheet.distrust !== null || card.release <= held.trusted.release) &&
      !sheets.signed.some((one) => one.revision === card.revision && one.digest === hexOf(card.sha256)),
  };
}

/** useCardsAt gives the cards of an instant, and keeps them here. */
function useCardsAt(branch: string, effective: number | null): Answer<ListCardsResponse> {
  return useSaved(
    BranchesService.method.listCards,
    { branch, ...(effective === null ? {} : { atTime: timestampFromMs(effective) }) },
    `cards:${branch}:at:${effective ?? 0}`,
    effective !== null,
  );
}
