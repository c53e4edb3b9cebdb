// Redraw the bench and tell the verdicts while numbers change. Without this, the buttons do the same.
"use strict";
const form = document.getElementById("plan-form");
let waiting = null, asked = 0;
async function tryIt() {
  const mine = ++asked;
  const data = new FormData(form);
  data.set("action", "try");
  try {
    const answer = await fetch("/plan", { method: "POST", body: new URLSearchParams(data), headers: { "Content-Type": "application/x-www-form-urlencoded" } });
    if (mine !== asked || (answer.status !== 200 && answer.status !== 422)) return;
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const id of ["told", "beside"]) {
      const fresh = page.getElementById(id);
      if (id === "beside" && !fresh.querySelector("svg")) continue; // keep the last drawing that could be drawn
      document.getElementById(id).replaceChildren(...fresh.childNodes);
    }
    for (const old of form.querySelectorAll("[id^='w-']")) old.remove();
    for (const input of form.elements) if (input.id.startsWith("f-")) input.removeAttribute("aria-invalid");
    for (const wrong of page.querySelectorAll("#plan-form [id^='w-']")) {
      const input = document.getElementById("f-" + wrong.id.slice(2));
      if (!input) continue;
      input.setAttribute("aria-invalid", "true");
      input.setAttribute("aria-describedby", wrong.id);
      input.after(wrong);
      input.closest("details").open = true;
    }
  } catch (error) { /* the network is away: saving will tell */ }
}
// Parts stay open over the reload that saving brings.
const parts = [...form.querySelectorAll("details.part")];
const nameOf = (part) => part.querySelector("[id^='part-']").id;
const kept = JSON.parse(sessionStorage.getItem("wetfoot-parts") || "[]");
for (const part of parts) {
  if (kept.includes(nameOf(part))) part.open = true;
  part.addEventListener("toggle", () => sessionStorage.setItem("wetfoot-parts", JSON.stringify(parts.filter((each) => each.open).map(nameOf))));
}
form.addEventListener("input", () => { clearTimeout(waiting); waiting = setTimeout(tryIt, 400); });
