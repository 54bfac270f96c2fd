// The service worker: it keeps the files of one build, gives the page where the network does not, and lets a newer
// build wait until the person says so. It holds nothing that belongs to anybody.
import { answerFor, cacheOf, outlived } from "./shell.ts";

declare const self: ServiceWorkerGlobalScope;
/** Paths of the built shell and bench, and the hash over them; scripts/worker.js writes both in. */
declare const SHELL_FILES: readonly string[];
declare const BUILD: string;

const patience = 4_000; // ms for the newest page to come, before the kept one is shown: a weak network is no network

self.addEventListener("install", (event) => {
  // "reload" goes past the browser's own cache, so that files without a hash in their name are of this build.
  const files = SHELL_FILES.map((path) => new Request(path, { cache: "reload", credentials: "same-origin" }));
  event.waitUntil(caches.open(cacheOf(BUILD)).then((cache) => cache.addAll(files)));
});

self.addEventListener("activate", (event) => {
  event.waitUntil(
    caches
      .keys()
      .then((names) => Promise.all(outlived(names, BUILD).map((name) => caches.delete(name))))
      .then(() => self.clients.claim()),
  );
});

self.addEventListener("message", (event) => {
  if (event.data === "take over") void self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  switch (answerFor(event.request, self.location.origin)) {
    case "kept":
      event.respondWith(keptFirst(event.request));
      return;
    case "page":
      event.respondWith(newestPage(event.request));
      return;
    case "network":
      return;
  }
});

async function keptFirst(request: Request): Promise<Response> {
  return (await caches.match(request, { ignoreVary: true })) ?? fetch(request);
}

/** newestPage gives the page of the network, or the kept one where none comes in time. */
async function newestPage(request: Request): Promise<Response> {
  const keptPage = () => caches.match("/", { ignoreVary: true, cacheName: cacheOf(BUILD) });
  const late = new Promise<undefined>((done) => setTimeout(() => done(undefined), patience));
  const fromNetwork = fetch(request);
  try {
    const first = await Promise.race([fromNetwork, late]);
    // A proxy that says that the server is away is no page either.
    if (first && first.status < 500) return first;
    return (await keptPage()) ?? first ?? (await fromNetwork);
  } catch (error) {
    const page = await keptPage();
    if (page) return page;
    throw error;
  }
}
