// The worker of the phone census: it answers with the stored page when there is no signal. GIVEN comes before it: the edition, the files, the home.
// It stores the page and its files, which are the same for everybody; records and rounds are in the database of the page.
"use strict";
const CACHE = "mastbook-phone-" + GIVEN.edition;

async function storeAll() {
  const cache = await caches.open(CACHE);
  await Promise.all(GIVEN.files.map(async function (address) {
    // past the store of the browser, and without a session: what is stored belongs to nobody
    const answer = await fetch(address, { cache: "reload", credentials: "omit" });
    if (!answer.ok || answer.redirected) throw new Error("not stored: " + address);
    await cache.put(address, answer);
  }));
}

async function dropOlder() {
  const names = await caches.keys();
  await Promise.all(names.filter(function (name) { return name.startsWith("mastbook-phone-") && name !== CACHE; })
    .map(function (name) { return caches.delete(name); }));
  await self.clients.claim();
}

async function stored(request, address) {
  const found = await (await caches.open(CACHE)).match(address);
  return found || fetch(request);
}

self.addEventListener("install", function (event) { event.waitUntil(storeAll()); });
self.addEventListener("activate", function (event) { event.waitUntil(dropOlder()); });
// only a tap of the person brings this message: no page changes under somebody's hands
self.addEventListener("message", function (event) { if (event.data === "take over") self.skipWaiting(); });
self.addEventListener("fetch", function (event) {
  const address = new URL(event.request.url);
  if (event.request.method !== "GET" || address.origin !== self.location.origin) return;
  const isPage = event.request.mode === "navigate" && (address.pathname === GIVEN.home || /\/\d+\/$/.test(address.pathname));
  if (isPage) event.respondWith(stored(event.request, GIVEN.home));
  else if (GIVEN.files.includes(address.pathname) && event.request.mode !== "navigate") event.respondWith(stored(event.request, address.pathname));
});
