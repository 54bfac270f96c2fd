import { createClient } from "@connectrpc/connect";
import { useTransport } from "@connectrpc/connect-query";
import { useQueryClient } from "@tanstack/react-query";
import { useEffect, useState } from "react";
import { faultOf } from "../../app/fault.ts";
import { CatalogService } from "../../proto/evenpeel/recipes/v1/catalog_service_pb.ts";

const firstWait = 2_000;
const longestWait = 60_000;

export type News = { release: number; effective: number | null };

/**
 * useNews watches for releases after the one held and gives the newest that came since the screen was opened. Every
 * answer on the screen is then asked for again.
 */
export function useNews(branch: string, held: number | undefined): News | null {
  const transport = useTransport();
  const queries = useQueryClient();
  const [news, setNews] = useState<News | null>(null);
  const ready = held !== undefined && branch !== "";

  // the number held only starts the watch; news moves it on
  useEffect(() => {
    if (!ready) return;
    const gone = new AbortController();
    const client = createClient(CatalogService, transport);
    let known = held;
    let wait = firstWait;
    async function watch() {
      while (!gone.signal.aborted) {
        try {
          const stream = client.watchReleases(
            { branch, afterRelease: BigInt(known) },
            { signal: gone.signal },
          );
          for await (const { release, effectiveTime } of stream) {
            wait = firstWait;
            const number = Number(release);
            if (number <= known) continue; // a heartbeat
            known = number;
            const effective = effectiveTime ? Number(effectiveTime.seconds) * 1_000 : null;
            setNews({ release: number, effective });
            void queries.invalidateQueries();
          }
        } catch (error) {
          // The stream ended or the network is away: the state line says so; the watch comes back by itself. Where
          // the session ended, what is on the screen is asked for again, and the first refusal asks who is here.
          if (faultOf(error).kind === "NOT_SIGNED_IN" && !gone.signal.aborted)
            void queries.invalidateQueries();
        }
        await new Promise((done) => setTimeout(done, wait));
        wait = Math.min(longestWait, wait * 2);
      }
    }
    void watch();
    return () => gone.abort();
  }, [branch, ready, transport, queries]);
  return news;
}
