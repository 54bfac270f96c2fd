import { MutationCache, QueryCache, QueryClient } from "@tanstack/react-query";
import { faultOf } from "./fault.ts";

const retries = 2;

/** newQueryClient keeps what the server said. It never sends a change twice: the outbox of the bench does that, with ids. */
export function newQueryClient(onSessionEnded: () => void): QueryClient {
  const look = (error: unknown) => {
    if (faultOf(error).kind === "NOT_SIGNED_IN") onSessionEnded();
  };
  return new QueryClient({
    queryCache: new QueryCache({ onError: look }),
    mutationCache: new MutationCache({ onError: look }),
    defaultOptions: {
      queries: {
        // Fail at once without a network, so that a screen can say so instead of waiting for ever.
        networkMode: "always",
        staleTime: 30_000,
        retry: (count, error) => count < retries && faultOf(error).kind === "UNAVAILABLE",
      },
      mutations: { networkMode: "always", retry: false },
    },
  });
}
