// What waits on this phone: a database for each season, so that two seasons under one address do not mix.
"use strict";
const season = document.getElementById("visit").dataset.season;
const ofSeason = (name) => `${name}-${season}`;

const openBase = (name) => new Promise((done, fail) => {
  const asked = indexedDB.open(name, 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id" });
  asked.onsuccess = () => done(asked.result);
  asked.onerror = asked.onblocked = () => fail(asked.error);
});
const deal = (base, mode, act) => new Promise((done, fail) => {
  const one = base.transaction("entries", mode), result = act(one.objectStore("entries"));
  one.oncomplete = () => done(result && result.result);
  one.onerror = one.onabort = () => fail(one.error);
});

// Earlier pages kept everything in one database: its entries go to the season that is opened first, where they would
// have been sent. They are put there before they are taken away here: what is sent twice is recorded once.
async function takenOver(base) {
  const before = await openBase("wetfoot-visit"), entries = await deal(before, "readonly", (s) => s.getAll());
  if (entries.length) {
    await deal(base, "readwrite", (s) => { for (const entry of entries) s.put(entry); });
    await deal(before, "readwrite", (s) => { for (const entry of entries) s.delete(entry.id); });
  }
  before.close();
  return base;
}
const opened = openBase(ofSeason("wetfoot-visit")).then((base) => takenOver(base).catch(() => base));

const store = async (mode, act) => deal(await opened, mode, act);
const waiting = () => store("readonly", (s) => s.getAll());
const drop = (id) => store("readwrite", (s) => s.delete(id));
const keep = (entries) => store("readwrite", (s) => { for (const entry of entries) s.put(entry); }); // all or none

// What became of the last photos, also of those whose entry is no longer here.
const MOST_TOLD = 12;
const photosTold = () => JSON.parse(localStorage.getItem(ofSeason("wetfoot-photos")) || "[]");
function tellPhoto(entry, words) {
  const told = [{ of: [entry.time, entry.what, entry.place].filter(Boolean).join(" "), words }, ...photosTold()];
  try { localStorage.setItem(ofSeason("wetfoot-photos"), JSON.stringify(told.slice(0, MOST_TOLD))); } catch (error) { /* full: it is told once, above */ }
}
