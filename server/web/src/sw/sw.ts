// The service worker: the whole app is kept on the phone, one version at a time. A
// new version is fetched whole and waits; the page lets it in when nothing is open,
// being written or sent. Calls to the office are never touched.
declare const self: ServiceWorkerGlobalScope;
declare const FILES: string[]; // set by the build
declare const VERSION: string;

const mine = "relevel-app-";
const cache = mine + VERSION;

self.addEventListener("install", (e) => {
  e.waitUntil(keepAll());
});

async function keepAll(): Promise<void> {
  const kept = await caches.open(cache);
  // "reload" passes the browser's own cache: all files are to be of one version.
  await kept.addAll(["./", ...FILES.filter((n) => n !== "index.html")].map((n) => new Request(n, { cache: "reload" })));
}

self.addEventListener("activate", (e) => {
  e.waitUntil(letOldGo());
});

async function letOldGo(): Promise<void> {
  for (const name of await caches.keys()) if (name.startsWith(mine) && name !== cache) await caches.delete(name);
  await self.clients.claim();
}

self.addEventListener("message", (e) => {
  if (e.data === "take over") void self.skipWaiting();
  else if (e.data === "version") e.source?.postMessage({ version: VERSION });
});

self.addEventListener("fetch", (e) => {
  const address = new URL(e.request.url);
  const ours = address.origin === self.location.origin && address.pathname.startsWith(new URL("./", self.location.href).pathname);
  if (ours && e.request.method === "GET") e.respondWith(fromPhone(e.request));
});

async function fromPhone(request: Request): Promise<Response> {
  const kept = await caches.open(cache);
  const asked = request.mode === "navigate" ? new Request("./") : request;
  return (await kept.match(asked, { ignoreSearch: true })) ?? fetch(request);
}

export {};
