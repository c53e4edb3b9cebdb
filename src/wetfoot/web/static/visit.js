// Entries wait on the phone until the server has them; each has an id and is recorded once.
"use strict";
const id = (name) => document.getElementById(name);
const form = id("visit"), told = id("unsent"), doubt = id("doubt"), list = id("waiting"), enter = id("enter");
const readings = [...form.querySelectorAll("[data-what]")];
const uuid = () => (crypto.randomUUID ? crypto.randomUUID() : // only secure origins have it
  ([1e7] + -1e3 + -4e3 + -8e3 + -1e11).replace(/[018]/g, (c) => (c ^ (crypto.getRandomValues(new Uint8Array(1))[0] & (15 >> (c / 4)))).toString(16)));

// Date and time of day as they are at the site, which a phone's own zone need not be.
function stamp() {
  const two = { day: "2-digit", month: "2-digit", hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  const clock = (zone) => new Intl.DateTimeFormat("en", { ...two, year: "numeric", ...zone }).formatToParts(new Date());
  let parts;
  try { parts = clock({ timeZone: form.dataset.zone }); } catch (error) { parts = clock({}); } // a zone the phone does not know
  const now = Object.fromEntries(parts.map((part) => [part.type, part.value]));
  return { date: `${now.year}-${now.month}-${now.day}`, time: `${now.hour}:${now.minute}` };
}

// "1.6", "1,6", "3/4" and "1 1/2" are numbers.
function numberIn(text) {
  const found = /^(?:(-?[\d.]+)(?:\s+|$))?(?:(\d+)\/(\d+))?$/.exec(text.trim().replace(",", "."));
  return found && text.trim() ? Number(found[1] || 0) + (found[2] ? found[2] / found[3] : 0) : NaN;
}

// What cannot be a number, or is far from the last value, is asked about once more; it is never refused here.
let askedAbout = "";
function doubts() {
  const found = [];
  for (const input of readings) {
    const text = input.value.trim(), { what, place, unit, last } = input.dataset, number = numberIn(text), before = parseFloat(last);
    const say = (words) => found.push(`${[what, place === what ? "" : place].join(" ").trim()}: ${words}`);
    if (!text) continue;
    if (!Number.isFinite(number)) say(`“${text}” is not a number`);
    else if (/^\d{1,3},\d{3}$/.test(text)) say(`${text} is read as ${number}, with the comma as the decimal sign`);
    else if (what === "EC" && number > 10) say(`${text} mS/cm; is it µS/cm? Then it is ${number / 1000}`);
    else if (before > 0 && (number > 2 * before || number < before / 2)) say(`${text} ${unit}, last time ${last}`);
    else if (what === "tank" && unit === "L" && number > Number(form.dataset.full)) say(`${text} L is more than the tank holds`);
  }
  const pot = readPot(id("event-pot").value), pots = Number(id("event-place").selectedOptions[0].dataset.pots || Infinity);
  if (pot.doubt) found.push(pot.doubt);
  if (pot.number > pots) found.push(`pot ${pot.number}: ${id("event-place").value} has ${pots}`);
  return found;
}

function typed() {
  const rows = readings.filter((input) => input.value.trim()).map(({ value, dataset }) =>
    ({ what: dataset.what, place: dataset.place, value: value.trim().replace(",", "."), unit: dataset.unit }));
  const pot = readPot(id("event-pot").value), note = [id("note").value.trim()], event = id("event").value;
  if (pot.code) note.unshift(pot.doubt ? `pot ${pot.code}, whose check character did not fit` : `pot ${pot.code}`);
  if (event || pot.code || pot.number || id("photo").files.length) rows.push({ what: event || "other", place: id("event-place").value, pot: pot.number });
  if (!rows.length && note[0]) rows.push({ what: "visit" });
  const who = id("who").value.trim(), when = stamp();
  return rows.map((row, at) => ({ ...row, ...when, who, id: uuid(), note: at === rows.length - 1 ? note.filter(Boolean).join("; ") : "" }));
}

async function picture(file) {
  const image = await createImageBitmap(file), most = 1600, scale = Math.min(1, most / Math.max(image.width, image.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(image.width * scale); canvas.height = Math.round(image.height * scale);
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL("image/jpeg", 0.85);
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const rows = typed(), asks = doubts().join("; "), file = id("photo").files[0];
  if (!rows.length) { doubt.textContent = "Nothing was typed yet."; return; }
  if (asks && asks !== askedAbout) {
    askedAbout = asks;
    doubt.textContent = `Please look again. ${asks}. If it is right, press Keep once more.`;
    return;
  }
  let words = "";
  try { if (file) rows[rows.length - 1].photo = await picture(file); } catch (error) { words = "The photo could not be read; the rest is kept."; }
  try { await keep(rows); } catch (error) { doubt.textContent = `This phone could not keep it (${error && error.name}): write it on paper.`; return; }
  const who = id("who").value;
  form.reset(); id("who").value = who; askedAbout = ""; doubt.textContent = words; tellPot();
  localStorage.setItem("wetfoot-who", who); localStorage.removeItem(ofSeason("wetfoot-typed"));
  await show(); send();
});

// What is typed and not kept yet survives a reload; places are named, so that a changed plan moves nothing.
const nameOf = (input) => (input.dataset.what ? `${input.dataset.what}|${input.dataset.place}` : input.id);
const fields = () => [...form.elements].filter((each) => nameOf(each) && !["file", "submit", "button", "fieldset"].includes(each.type));
form.addEventListener("input", () => localStorage.setItem(ofSeason("wetfoot-typed"), JSON.stringify(fields().map((each) => [nameOf(each), each.value]))));
function putBack() {
  const before = new Map(JSON.parse(localStorage.getItem(ofSeason("wetfoot-typed")) || "[]"));
  id("who").value ||= localStorage.getItem("wetfoot-who") || ""; // somebody may have typed before this script ran
  for (const each of fields()) each.value ||= before.get(nameOf(each)) || "";
  if (readings.some((each) => each.value)) doubt.textContent = "What was typed before and not kept is still here.";
}

function line(entry) {
  const item = document.createElement("li"), pot = entry.pot ? `pot ${entry.pot}` : "";
  item.textContent = [entry.date, entry.time, entry.what, entry.place, pot, entry.value, entry.unit, entry.note, entry.photo && "with photo", entry.refused && `· not taken: ${entry.refused}`].filter(Boolean).join(" ");
  if (entry.refused) {
    const button = document.createElement("button");
    button.type = "button"; button.className = "plain"; button.textContent = "Put back into the form to mend it";
    button.addEventListener("click", () => mend(entry));
    item.append(button);
  }
  return item;
}

async function show(words = "") {
  const entries = await waiting();
  const refused = entries.filter((entry) => entry.refused).length;
  told.textContent = [entries.length ? `${entries.length} not sent yet.` : "All is sent.", refused ? `${refused} not taken: see at the end.` : "", words].filter(Boolean).join(" ");
  list.replaceChildren(...entries.map(line));
  const photos = entries.filter((entry) => entry.photo).map((entry) => `${entry.time} ${entry.what} ${entry.place || ""}: ${entry.refused ? "waits for its entry, which was not taken" : "waiting"}`);
  const before = photosTold().map(({ of, words }) => `${of}: ${words}`);
  id("photos").replaceChildren(...[...photos, ...before].map((words) => Object.assign(document.createElement("li"), { textContent: `Photo ${words}` })));
}

async function mend(entry) {
  const input = readings.find((each) => each.dataset.what === entry.what && each.dataset.place === (entry.place || "")) || id("note");
  if (input.dataset.what) input.value = entry.value || "";
  else { id("event").value = entry.what; id("event-place").value = entry.place || ""; id("event-pot").value = entry.pot || ""; }
  if (entry.note) id("note").value = entry.note;
  input.focus();
  await drop(entry.id); show();
}

// A network at the edge of its reach may take a request and never answer: give up, say so, and try again later.
const patience = (size) => (AbortSignal.timeout ? { signal: AbortSignal.timeout(12000 + size / 20) } : {}); // ms; 20 kB a second at least
const post = (body) => fetch("/api/entries", { method: "POST", headers: { "Content-Type": "application/json", "X-Form-Token": form.dataset.token }, body, ...patience(body.length) });

const ANOTHER = "Another season is served here now. They stay on this phone until their own season is served again.";
// Take the token of the page that the server gives now; without one, tell why and ask for the passcode.
async function letIn(answer) {
  const page = new DOMParser().parseFromString(await answer.text(), "text/html"), fresh = page.getElementById("visit");
  if (fresh && fresh.dataset.season !== season) { await show(ANOTHER); return false; }
  enter.hidden = Boolean(fresh);
  if (fresh) form.dataset.token = fresh.dataset.token;
  else await show(`${page.querySelector("main p").textContent} Nothing is lost: sending goes on afterwards.`);
  return enter.hidden;
}

let sending = false, asked = false, most = 50, recorded = 0, words = [];
const LARGEST = 8e6; // characters of photos at once
async function send() {
  if (sending) { asked = true; return; }
  sending = true; asked = false;
  try {
    const entries = [];
    let size = 0;
    for (const entry of (await waiting()).filter((each) => !each.refused).slice(0, most)) {
      size += (entry.photo || "").length;
      if (!entries.length || size < LARGEST) entries.push(entry);
    }
    if (!entries.length) return;
    const photos = Object.fromEntries(entries.filter((entry) => entry.photo).map((entry) => [entry.id, entry.photo]));
    const rows = entries.map(({ photo, refused, ...row }) => Object.fromEntries(Object.entries(row).map(([name, value]) => [name, String(value ?? "")])));
    const body = JSON.stringify({ season, entries: rows, photos });
    let answer = await post(body);
    if (answer.status === 401 || answer.status === 403) {
      if (!(await letIn(await fetch("/visit", patience(0))))) return;
      answer = await post(body);
    }
    if (answer.status === 413 || answer.status === 422) { await single(entries, answer.status); return; }
    if (answer.status === 409) { await show(ANOTHER); return; }
    if (!answer.ok) { await show(`The server could not take them now (${answer.status}). They stay here.`); return; }
    const outcomes = await answer.json(), entryOf = (outcome) => entries.find((each) => each.id === outcome.id);
    for (const outcome of outcomes.photos.filter((each) => each.state !== "waits")) {
      const refused = outcome.state === "refused", entry = entryOf(outcome);
      tellPhoto(entry, refused ? `refused: ${outcome.told}. Take it again.` : "sent");
      if (refused) words.push(`The photo of ${entry.what} ${entry.place || ""} was refused: ${outcome.told}. Take it again.`);
    }
    for (const outcome of outcomes.entries) {
      const entry = entryOf(outcome);
      if (outcome.state === "refused" && entry) await keep([{ ...entry, refused: outcome.told }]);
      else await drop(outcome.id);
      if (outcome.state !== "refused") recorded += 1;
      if (outcome.state === "recorded" && outcome.told) words.push(`Recorded as doubtful: ${outcome.told}.`);
    }
    enter.hidden = true;
    await show([recorded ? `${recorded} recorded at ${stamp().time}.` : "", ...words].join(" ").trim());
    if ((await waiting()).some((entry) => !entry.refused)) setTimeout(send, 50);
    else { most = 50; recorded = 0; words = []; }
  } catch (error) { await show("The server is out of reach; they are kept here and sent later."); }
  finally { sending = false; if (asked) setTimeout(send, 50); }
}

// The server refused all at once: find the one at fault, send it without its photo, or set it aside; the others go on.
async function single(entries, status) {
  const [entry] = entries;
  if (entries.length > 1) most = 1;
  else if (entry.photo) { await keep([{ ...entry, photo: "" }]); tellPhoto(entry, `refused: too large for the server (${status}). Take it again.`); words.push("The server cannot take a photo: it is left out, take it again."); }
  else await keep([{ ...entry, refused: `the server cannot read it (${status})` }]);
  setTimeout(send, 50);
}

enter.addEventListener("submit", async (event) => {
  event.preventDefault();
  const data = new URLSearchParams({ passcode: id("passcode").value, back: "/visit" });
  id("passcode").value = "";
  try { if (await letIn(await fetch("/enter", { method: "POST", body: data, ...patience(0) }))) send(); } catch (error) { await show("The server is out of reach."); }
});

id("export").addEventListener("click", async () => {
  const entries = await waiting(), columns = ["id", "date", "time", "what", "place", "pot", "value", "unit", "who", "note"];
  const cell = (text) => `"${String(text ?? "").replace(/"/g, '""')}"`;
  const lines = [columns.join(","), ...entries.map((entry) => columns.map((name) => cell(entry[name])).join(","))];
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([lines.join("\r\n")], { type: "text/csv" }));
  link.download = "wetfoot-visit.csv"; link.click();
});

function tellPot() {
  const pot = readPot(id("event-pot").value), typeIt = canScan ? "" : "Scanning needs https and a browser that reads codes: type the code.";
  id("pot-told").textContent = pot.doubt ? "The last character does not fit the others: read the code again." : pot.code ? `Pot ${pot.code}: the check character fits.` : typeIt || "\u00a0";
}
id("event-pot").addEventListener("input", tellPot);
id("scan").hidden = !canScan;
id("scan").addEventListener("click", () => id("label-photo").click());
id("live").hidden = !hasCamera;
let looking = false;
id("live").addEventListener("click", async () => {
  if (looking) { looking = false; return; }
  looking = true; id("live").textContent = "Stop the camera"; id("camera").hidden = false;
  let words = "";
  try {
    const code = await readLive(id("camera"), () => !looking);
    if (code) id("event-pot").value = code;
  } catch (error) { words = `The camera cannot be used (${error.name}): scan a picture of the label, or type the code.`; }
  looking = false; id("live").textContent = "Scan with the camera"; id("camera").hidden = true;
  tellPot();
  if (words) id("pot-told").textContent = words;
});
id("label-photo").addEventListener("change", async (event) => {
  let code = "";
  try { code = await scanned(event.target.files[0]); } catch (error) { /* no picture: told below */ }
  id("event-pot").value = code; tellPot();
  if (!code) id("pot-told").textContent = "No code was found in the picture: go closer, or type it.";
});

putBack(); tellPot();
window.addEventListener("online", send);
setInterval(send, 15000);
show().then(send).catch(() => { told.textContent = "This browser keeps nothing here, so nothing can wait on it: write on paper, or use another browser."; });
if (navigator.storage && navigator.storage.persist) navigator.storage.persist();
if (navigator.serviceWorker && window.isSecureContext) navigator.serviceWorker.register("/offline.js").catch(() => {});
