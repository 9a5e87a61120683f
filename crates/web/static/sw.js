// Goldward's service worker: keeps one whole version of the app, so that it starts without a network and never mixes two.
// A new version is fetched beside the old one and waits until the archer asks for it or every window is closed.
const VERSION = "@VERSION@";
const CACHE = "goldward-" + VERSION;
const FILES = ["@FILES@"];
const GUIDE = ["@GUIDE@"];

self.addEventListener("install", (event) => {
  const fresh = FILES.map((file) => new Request(file, { cache: "reload" }));
  event.waitUntil(caches.open(CACHE).then((cache) => cache.addAll(fresh)));
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) {
      if (name.startsWith("goldward-") && name !== CACHE) await caches.delete(name);
    }
    await self.clients.claim();
  })());
});

self.addEventListener("message", (event) => {
  if (event.data === "take-over") self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== self.location.origin || url.pathname.startsWith("/api/")) return;
  if (url.href.startsWith(self.registration.scope + "guide/")) return event.respondWith(guide(event));
  event.respondWith((async () => {
    const cache = await caches.open(CACHE);
    const wanted = event.request.mode === "navigate" ? "./index.html" : event.request;
    return (await cache.match(wanted, { ignoreSearch: true })) ?? fetch(event.request);
  })());
});

// The guide: the newest there is; whoever has looked at a page of it has all of it without a network.
async function guide(event) {
  const cache = await caches.open(CACHE);
  try {
    const fresh = await fetch(event.request);
    if (fresh.ok && !(await cache.match(GUIDE[0]))) event.waitUntil(cache.addAll(GUIDE).catch(() => {}));
    return fresh;
  } catch {
    const folder = new URL("index.html", event.request.url);
    const wanted = event.request.url.endsWith("/") ? folder : event.request;
    return (await cache.match(wanted, { ignoreSearch: true })) ?? Response.error();
  }
}
