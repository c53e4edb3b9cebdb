"""On a plain local network, where no service worker is allowed, the loaded page goes on without the server."""

from __future__ import annotations

import csv
from collections.abc import Callable
from pathlib import Path

from browsing import ALL_SENT, PASSCODE, Served, go_in, keep_ec, records_on
from playwright.sync_api import BrowserContext, Page, expect


def test_the_loaded_page_records_while_the_server_is_away(page: Page, yard: Served) -> None:
    go_in(page, f"{yard.address}/visit", PASSCODE)
    assert not page.evaluate("window.isSecureContext")
    expect(page.locator("#unsent")).to_contain_text("All is sent.")  # the page is loaded whole
    yard.stop()
    keep_ec(page, "1.6")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet. The server is out of reach", timeout=30_000)
    keep_ec(page, "1.7")
    expect(page.locator("#unsent")).to_contain_text("2 not sent yet")
    context = page.context
    page.close()
    yard.start_again()
    again = context.new_page()
    again.goto(f"{yard.address}/visit")
    expect(again.locator("#unsent")).to_have_text(ALL_SENT)
    again.goto(f"{yard.address}/records")
    assert len(records_on(again)) == 2


def test_a_network_that_never_answers_is_told_and_tried_again(page: Page, yard: Served) -> None:
    go_in(page, f"{yard.address}/visit", PASSCODE)
    page.route("**/api/entries", lambda route: None)
    keep_ec(page, "1.6")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet. The server is out of reach", timeout=30_000)
    page.unroute("**/api/entries")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT, timeout=30_000)


def test_two_phones_that_read_the_same_place_are_both_kept(
    open_phone: Callable[..., BrowserContext], yard: Served
) -> None:
    for who, value in (("One", "1.6"), ("Two", "1.9")):
        phone = open_phone().new_page()
        go_in(phone, f"{yard.address}/visit", PASSCODE)
        keep_ec(phone, value, who)
        expect(phone.locator("#unsent")).to_have_text(ALL_SENT)
        phone.goto(f"{yard.address}/records")
    rows = records_on(phone)
    assert sorted(row.split(" EC East ")[1] for row in rows) == ["1.6 mS/cm One correct", "1.9 mS/cm Two correct"]


def test_what_waits_is_saved_as_a_file_that_the_records_take_in(page: Page, yard: Served, tmp_path: Path) -> None:
    """The file is the way out of a phone that never finds its server again; sent later, nothing is there twice."""
    yard.access.set_passcode("plan", "grey heron pond")
    go_in(page, f"{yard.address}/visit", "grey heron pond")
    page.route("**/api/entries", lambda route: route.abort())
    keep_ec(page, "1.6")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet")
    with page.expect_download() as saved:
        page.get_by_role("button", name="Save what waits").click()
    file = tmp_path / "wetfoot-visit.csv"
    saved.value.save_as(file)
    (row,) = csv.DictReader(file.read_text("utf-8").splitlines())
    assert (row["what"], row["place"], row["value"], row["unit"], row["who"]) == (
        "EC",
        "East",
        "1.6",
        "mS/cm",
        "Tester",
    )
    page.goto(f"{yard.address}/records")
    page.get_by_label("File").set_input_files(file)
    page.get_by_role("button", name="Take in").click()
    expect(page.locator("main")).to_contain_text("1")
    page.unroute("**/api/entries")
    page.goto(f"{yard.address}/visit")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{yard.address}/records")
    assert len(records_on(page)) == 1
