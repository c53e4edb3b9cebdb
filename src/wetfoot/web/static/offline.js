// Keep the page for the yard, so that it opens without a network; everything else goes to the server.
"use strict";
const KEPT = "wetfoot-yard-3", PATIENCE_MS = 4000;
const FILES = ["/visit", "/static/visit.js", "/static/queue.js", "/static/pot_code.js", "/static/wetfoot.css", "/static/icon.svg"];
self.addEventListener("install", (event) => event.waitUntil(caches.open(KEPT).then((kept) => kept.addAll(FILES)).then(() => self.skipWaiting())));
self.addEventListener("activate", (event) => event.waitUntil(
  caches.keys().then((names) => Promise.all(names.filter((name) => name !== KEPT).map((name) => caches.delete(name)))).then(() => self.clients.claim())));
async function fresh(request, path) {
  const answer = await fetch(request);
  if (answer.ok) await (await caches.open(KEPT)).put(path, answer.clone());
  return answer;
}
self.addEventListener("fetch", (event) => {
  const path = new URL(event.request.url).pathname;
  if (event.request.method !== "GET" || !FILES.includes(path)) return;
  const asked = fresh(event.request, path), kept = () => caches.match(path);
  // A yard's network is often there and answers nothing: after a while the kept page serves as well.
  const late = new Promise((done) => setTimeout(done, PATIENCE_MS)).then(kept).then((page) => page || asked);
  event.respondWith(Promise.race([asked, late]).catch(async () => (await kept()) || Response.error()));
});
