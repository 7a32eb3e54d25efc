// Keeps the page on the phone, so that it opens where there is no network. VERSION and SHELL stand above this, put
// there by the server: what the page consists of, and that content's digest. Everything else passes untouched.

const CACHE = `capture-${VERSION}`;
const PAGE = SHELL[0];

self.addEventListener("install", (event) => {
  event.waitUntil((async () => {
    const cache = await caches.open(CACHE);
    await Promise.all(SHELL.map(async (path) => {
      const answer = await fetch(path, { cache: "reload", credentials: "same-origin" });
      // Signed out, the page leads elsewhere; that is not to be kept in its place.
      if (!answer.ok || answer.redirected) throw new Error(`${path} cannot be kept`);
      await cache.put(path, answer);
    }));
    await self.skipWaiting();
  })());
});

self.addEventListener("activate", (event) => {
  event.waitUntil((async () => {
    for (const name of await caches.keys()) if (name.startsWith("capture-") && name !== CACHE) await caches.delete(name);
    await self.clients.claim();
  })());
});

self.addEventListener("fetch", (event) => {
  const { pathname, origin } = new URL(event.request.url);
  if (event.request.method !== "GET" || origin !== self.location.origin || !SHELL.includes(pathname)) return;
  event.respondWith((async () => {
    const cache = await caches.open(CACHE);
    return (await cache.match(pathname)) ?? fetch(event.request);
  })());
});
