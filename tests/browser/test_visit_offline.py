"""A visit is recorded with the network cut, survives a reload and a closed page, and is there once afterwards."""

from __future__ import annotations

from browsing import ALL_SENT, Served, keep_ec, no_console_errors, records_on
from playwright.sync_api import Page, expect


def test_a_visit_without_a_network_is_kept_over_a_closed_page_and_sent_once(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    page.evaluate("navigator.serviceWorker.ready")
    context = page.context
    context.set_offline(True)
    keep_ec(page, "1.62")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet")
    page.reload()
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet")
    page.close()
    again = context.new_page()
    again.goto(f"{here.address}/visit")
    expect(again.locator("#waiting li")).to_contain_text("EC East 1.62 mS/cm")
    expect(again.get_by_label("Who", exact=True)).to_have_value("Tester")
    keep_ec(again, "1.63")
    expect(again.locator("#unsent")).to_contain_text("2 not sent yet")
    context.set_offline(False)
    expect(again.locator("#unsent")).to_have_text(ALL_SENT)
    again.goto(f"{here.address}/records")
    assert sorted(row.split(" EC East ")[1][:10] for row in records_on(again)) == ["1.62 mS/cm", "1.63 mS/cm"]


def test_an_answer_that_got_lost_does_not_record_twice(page: Page, here: Served) -> None:
    """The server records, but its answer does not reach the phone: the phone sends again."""

    def lose_the_answer(route: object) -> None:
        route.fetch()  # type: ignore[attr-defined]
        route.abort()  # type: ignore[attr-defined]

    page.route("**/api/entries", lose_the_answer, times=1)
    page.goto(f"{here.address}/visit")
    keep_ec(page, "1.62")
    expect(page.locator("#unsent")).to_contain_text("1 not sent yet. The server is out of reach")
    with no_console_errors(page):
        page.evaluate("send()")
        expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{here.address}/records")
    assert len(records_on(page)) == 1


def test_what_is_typed_and_not_kept_survives_a_reload(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    page.locator("#level-2").fill("4.7")
    page.reload()
    expect(page.locator("#level-2")).to_have_value("4.7")
    expect(page.locator("#doubt")).to_contain_text("still here")
