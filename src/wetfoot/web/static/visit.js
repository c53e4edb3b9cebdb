// Entries wait on the phone until the server has them; each has an id and is recorded once.
"use strict";
const form = document.getElementById("visit");
const told = document.getElementById("unsent"), doubt = document.getElementById("doubt"), list = document.getElementById("waiting");
const uuid = () => (crypto.randomUUID ? crypto.randomUUID() : // only secure origins have it
  ([1e7] + -1e3 + -4e3 + -8e3 + -1e11).replace(/[018]/g, (c) => (c ^ (crypto.getRandomValues(new Uint8Array(1))[0] & (15 >> (c / 4)))).toString(16)));

const opened = new Promise((done, fail) => {
  const asked = indexedDB.open("wetfoot-visit", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id" });
  asked.onsuccess = () => done(asked.result);
  asked.onerror = () => fail(asked.error);
});
async function store(mode, act) {
  const base = await opened;
  return new Promise((done, fail) => {
    const deal = base.transaction("entries", mode), result = act(deal.objectStore("entries"));
    deal.oncomplete = () => done(result && result.result);
    deal.onerror = () => fail(deal.error);
  });
}
const waiting = () => store("readonly", (s) => s.getAll());
const put = (entry) => store("readwrite", (s) => s.put(entry));
const drop = (id) => store("readwrite", (s) => s.delete(id));

function stamp() {
  const now = new Date(), two = (n) => String(n).padStart(2, "0");
  return { date: `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`, time: `${two(now.getHours())}:${two(now.getMinutes())}` };
}

// What cannot be a number, or is far from the last value, is asked about once more; it is never refused here.
let askedAbout = "";
function doubts(rows) {
  const found = [];
  for (const row of rows) {
    if (!row.value) continue;
    const number = Number(row.value.replace(",", "."));
    const name = `${row.what} ${row.place || ""}`.trim();
    if (!Number.isFinite(number)) { found.push(`${name}: “${row.value}” is not a number`); continue; }
    if (row.what === "EC" && number > 10) found.push(`${name}: ${row.value} mS/cm; is it µS/cm? Then it is ${number / 1000}`);
    const last = parseFloat(row.last);
    if (last > 0 && (number > 2 * last || number < last / 2)) found.push(`${name}: ${row.value}, last time ${row.last}`);
    if (row.what === "tank" && row.unit === "L" && number > Number(form.dataset.full)) found.push(`${name}: more than the tank holds`);
  }
  return found;
}

function typed() {
  const who = form.elements.who.value.trim(), note = form.elements.note.value.trim(), when = stamp(), rows = [];
  for (const input of form.querySelectorAll("[data-what]")) {
    if (!input.value.trim()) continue;
    rows.push({ what: input.dataset.what, place: input.dataset.place, value: input.value.trim().replace(",", "."), unit: input.dataset.unit, last: input.dataset.last || "" });
  }
  const event = form.elements.event.value;
  if (event) rows.push({ what: event, place: form.elements["event-place"].value, pot: form.elements["event-pot"].value.trim() });
  else if (form.elements.photo.files.length && note) rows.push({ what: "other" });
  if (!rows.length && note) rows.push({ what: "visit" });
  return rows.map((row, at) => ({ ...row, ...when, who, note: at === rows.length - 1 ? note : "" }));
}

async function picture(file) {
  if (!file) return "";
  const image = await createImageBitmap(file), most = 1600, scale = Math.min(1, most / Math.max(image.width, image.height));
  const canvas = document.createElement("canvas");
  canvas.width = Math.round(image.width * scale); canvas.height = Math.round(image.height * scale);
  canvas.getContext("2d").drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas.toDataURL("image/jpeg", 0.85);
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const rows = typed();
  if (!rows.length) { doubt.textContent = "Nothing was typed yet."; return; }
  const asks = doubts(rows).join("; ");
  if (asks && asks !== askedAbout) {
    askedAbout = asks;
    doubt.textContent = `Please look again. ${asks}. If it is right, press Keep once more.`;
    return;
  }
  let photo = "";
  try { photo = await picture(form.elements.photo.files[0]); } catch (error) { doubt.textContent = "The photo could not be read; the rest is kept."; }
  for (const [at, row] of rows.entries()) {
    const { last, ...kept } = row;
    await put({ ...kept, id: uuid(), photo: at === rows.length - 1 ? photo : "" });
  }
  const who = form.elements.who.value;
  form.reset(); form.elements.who.value = who; askedAbout = ""; doubt.textContent = "";
  localStorage.setItem("wetfoot-who", who);
  await show(); send();
});

async function show(words = "") {
  const entries = await waiting();
  told.textContent = entries.length ? `${entries.length} not sent yet. ${words}` : `All is sent. ${words}`;
  list.replaceChildren(...entries.map((entry) => {
    const item = document.createElement("li");
    item.textContent = `${entry.date} ${entry.time} ${entry.what} ${entry.place || ""} ${entry.value || ""} ${entry.unit || ""} ${entry.refused ? "· not taken: " + entry.refused : ""}`;
    if (entry.refused) {
      const button = document.createElement("button");
      button.type = "button"; button.className = "plain"; button.textContent = "Put back into the form to mend it";
      button.addEventListener("click", () => mend(entry));
      item.append(button);
    }
    return item;
  }));
}

async function mend(entry) {
  const input = [...form.querySelectorAll("[data-what]")].find((each) => each.dataset.what === entry.what && each.dataset.place === (entry.place || ""));
  if (input) { input.value = entry.value || ""; input.focus(); } else form.elements.note.value = entry.note || "";
  await drop(entry.id); show();
}

let sending = false;
async function send() {
  if (sending) return;
  sending = true;
  try {
    const entries = (await waiting()).filter((entry) => !entry.refused).slice(0, 50);
    if (!entries.length) { await show(); return; }
    const photos = Object.fromEntries(entries.filter((entry) => entry.photo).map((entry) => [entry.id, entry.photo]));
    const rows = entries.map(({ photo, refused, ...row }) => Object.fromEntries(Object.entries(row).map(([name, value]) => [name, String(value ?? "")])));
    const answer = await fetch("/api/entries", { method: "POST", headers: { "Content-Type": "application/json", "X-Form-Token": form.dataset.token }, body: JSON.stringify({ entries: rows, photos }) });
    if (answer.status === 401 || answer.status === 403) { await show("The server asks for the passcode: open Today, enter, and come back. Nothing is lost."); return; }
    if (!answer.ok) { await show(`The server could not take them now (${answer.status}). They stay here.`); return; }
    const told = [];
    for (const outcome of (await answer.json()).entries) {
      if (outcome.state === "refused") {
        const entry = entries.find((each) => each.id === outcome.id);
        if (entry) await put({ ...entry, refused: outcome.told });
      } else { await drop(outcome.id); if (outcome.told) told.push(`Recorded as doubtful: ${outcome.told}.`); }
    }
    await show(told.join(" "));
    if ((await waiting()).some((entry) => !entry.refused)) setTimeout(send, 50);
  } catch (error) { await show("The server is out of reach; they are kept here and sent later."); }
  finally { sending = false; }
}

document.getElementById("export").addEventListener("click", async () => {
  const entries = await waiting(), columns = ["id", "date", "time", "what", "place", "pot", "value", "unit", "who", "note"];
  const cell = (text) => `"${String(text ?? "").replace(/"/g, '""')}"`;
  const lines = [columns.join(","), ...entries.map((entry) => columns.map((name) => cell(entry[name])).join(","))];
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([lines.join("\r\n")], { type: "text/csv" }));
  link.download = "wetfoot-visit.csv"; link.click();
});

form.elements.who.value = localStorage.getItem("wetfoot-who") || "";
window.addEventListener("online", send);
setInterval(send, 15000);
show().then(send);
if (navigator.serviceWorker && window.isSecureContext) navigator.serviceWorker.register("/offline.js").catch(() => {});
