// While the season is computed: follow the count, and show the page anew when it ended.
"use strict";
const bar = document.querySelector("progress");
async function follow() {
  try {
    const work = await (await fetch("/api/work")).json();
    if (work.state !== "running") { location.reload(); return; }
    bar.value = work.percent;
    bar.closest("[role=status]").querySelector("p").textContent = `Computing the season: ${work.percent} %.`;
  } catch (error) { /* the network is away: try again */ }
  setTimeout(follow, 700);
}
if (bar) follow();
