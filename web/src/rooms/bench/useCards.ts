import { timestampFromMs } from "@bufbuild/protobuf/wkt";
import { useQueryClient } from "@tanstack/react-query";
import { useEffect } from "react";
import {
  BranchesService,
  type Card,
  type ListCardsResponse,
} from "../../proto/evenpeel/branches/v1/branches_service_pb.ts";
import { effectiveAt } from "./heldSheet.ts";
import { type Answer, useSaved } from "./saved.ts";
import { names } from "./trust.ts";
import { type Sheet, useHeldSheet } from "./useHeldSheet.ts";
import { type News, useNews } from "./useNews.ts";

export type Cards = Answer<ListCardsResponse> & {
  news: News | null;
  sheet: Sheet;
  /** Since when the cards shown are in force, where they turned over on this tablet by the clock. */
  turned: number | null;
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
  const next = sheet.held?.pulled.next;
  const instant = sheet.held ? effectiveAt(sheet.held) : null;
  const atTime = next?.effectiveTime;
  const later = useSaved(
    BranchesService.method.listCards,
    atTime ? { branch, atTime: timestampFromMs(Number(atTime.seconds) * 1_000) } : { branch },
    `cards:${branch}:next:${next?.release ?? 0n}`,
    atTime !== undefined,
  );
  const { passed } = sheet;
  useEffect(() => {
    if (passed) void queries.invalidateQueries();
  }, [passed, queries]);

  const turns = passed && next && later.data && (now.data?.release ?? 0n) < next.release;
  const shown = turns ? { ...later, network: now.network, fault: now.fault } : now;
  return {
    ...shown,
    retry: now.retry,
    news,
    sheet,
    turned: turns ? instant : null,
    doubted: (card) =>
      sheet.held !== null &&
      (sheet.distrust !== null || card.release <= sheet.held.pulled.newestRelease) &&
      !names(sheet.held.named, card.revision, card.sha256),
  };
}
