"""Two seasons served in turn under one address do not mix what waits on a phone; nothing that waited before is lost."""

from __future__ import annotations

from pathlib import Path

from browsing import ALL_SENT, Served, keep_ec, records_on
from playwright.sync_api import Page, expect

from wetfoot.plan.example import new_folder
from wetfoot.web.season import OpenSeason

# As the pages before kept it: one database, whatever the season.
KEPT_BEFORE = """() => new Promise((done, fail) => {
  const asked = indexedDB.open("wetfoot-visit", 1);
  asked.onupgradeneeded = () => asked.result.createObjectStore("entries", { keyPath: "id" });
  asked.onerror = fail;
  asked.onsuccess = () => {
    const deal = asked.result.transaction("entries", "readwrite");
    deal.objectStore("entries").put({ id: "0b0e7a34-5c0a-4d1e-8f0e-3f1f6a0c9d11", date: "2026-05-04", time: "08:00",
      what: "EC", place: "East", value: "1.55", unit: "mS/cm", who: "Earlier", note: "" });
    deal.oncomplete = () => { asked.result.close(); done(); };
  };
})"""


def test_what_waits_for_one_season_is_not_sent_to_another(page: Page, here: Served, tmp_path: Path) -> None:
    new_folder(tmp_path / "other")
    first, other = here.season, OpenSeason(tmp_path / "other", runs=10)
    page.goto(f"{here.address}/visit")
    page.evaluate("navigator.serviceWorker.ready")
    here.stop()
    keep_ec(page, "1.62")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet")
    here.season = other
    here.start_again()
    page.evaluate("send()")
    expect(page.locator("#unsent")).to_contain_text("Another season is served here now")
    page.goto(f"{here.address}/visit")
    expect(page.locator("#unsent")).to_have_text("All is sent.")
    page.goto(f"{here.address}/records")
    assert records_on(page) == []
    here.stop()
    here.season = first
    here.start_again()
    page.goto(f"{here.address}/visit")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{here.address}/records")
    assert len(records_on(page)) == 1


def test_what_earlier_pages_kept_is_sent(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/records")
    page.evaluate(KEPT_BEFORE)
    page.goto(f"{here.address}/visit")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{here.address}/records")
    (row,) = records_on(page)
    assert "EC East 1.55 mS/cm Earlier" in row
