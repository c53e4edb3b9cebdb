// Keep the page for the yard, so that it opens without a network; everything else goes to the server.
"use strict";
const KEPT = "wetfoot-yard-1", FILES = ["/visit", "/static/visit.js", "/static/wetfoot.css", "/static/icon.svg"];
self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(self.clients.claim()));
self.addEventListener("fetch", (event) => {
  const path = new URL(event.request.url).pathname;
  if (event.request.method !== "GET" || !FILES.includes(path)) return;
  event.respondWith(fetch(event.request).then((answer) => {
    if (answer.ok) { const copy = answer.clone(); caches.open(KEPT).then((kept) => kept.put(path, copy)); }
    return answer;
  }).catch(() => caches.match(path)));
});
