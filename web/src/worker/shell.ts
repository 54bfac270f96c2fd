// Shell is what the worker keeps on this device so that the bench opens with the network away, and how it answers.

/** Answer is who answers a request: the network alone, the kept files first, or the network first with the page kept. */
export type Answer = "network" | "kept" | "page";

/**
 * answerFor decides by the request alone. Calls of the API are never answered here: what a branch keeps of them is
 * checked, dated and kept by the screens themselves.
 */
export function answerFor(request: { method: string; url: string; mode: string }, home: string): Answer {
  const url = new URL(request.url);
  if (request.method !== "GET" || url.origin !== home) return "network";
  if (request.mode === "navigate") return isScreen(url.pathname) ? "page" : "network";
  return url.pathname.startsWith("/assets/") || kept.has(url.pathname) ? "kept" : "network";
}

// Files outside assets/ whose names hold no hash; they are kept with the build they came with.
const kept = new Set(["/layers.css", "/sign.svg", "/page.webmanifest"]);

/** isScreen tells the screens of the page from calls, probes and files: no screen has a dot in its last part. */
const isScreen = (path: string): boolean =>
  !path.slice(path.lastIndexOf("/") + 1).includes(".") &&
  !/^\/(evenpeel\.|grpc\.|healthz|readyz|livez|metrics)/.test(path);

const family = "evenpeel-page-";

/** cacheOf names the cache of one build. */
export const cacheOf = (build: string): string => family + build;

/** outlived gives the caches to drop: all of ours but this build's and the one before, which open tabs may still use. */
export function outlived(names: readonly string[], build: string): string[] {
  const others = names.filter((name) => name.startsWith(family) && name !== cacheOf(build));
  return others.slice(0, -1); // caches are listed in the order in which they were made
}
