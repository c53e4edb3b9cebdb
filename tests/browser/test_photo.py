"""A photo goes along with what was seen, made small on the phone, also over a cut network."""

from __future__ import annotations

import io
import re
from pathlib import Path

from browsing import ALL_SENT, Served, a_picture, records_on
from PIL import Image
from playwright.sync_api import Page, expect


def test_a_photo_waits_with_its_entry_and_arrives(page: Page, here: Served, tmp_path: Path) -> None:
    page.goto(f"{here.address}/visit")
    page.context.set_offline(True)
    page.get_by_label("Who", exact=True).fill("Tester")
    page.get_by_label("What", exact=True).select_option("disease sign")
    page.get_by_label("Pot").fill("3")
    page.get_by_label("Photo").set_input_files(a_picture(tmp_path / "leaf.jpg"))
    page.get_by_label("Note").fill("yellow from the edge")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#waiting li")).to_contain_text("disease sign East pot 3 yellow from the edge with photo")
    expect(page.locator("#photos li")).to_have_text(re.compile("disease sign East: waiting"))
    page.context.set_offline(False)
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    expect(page.locator("#photos li")).to_have_text(re.compile("disease sign East: sent"))
    (kept,) = (here.season.folder / "photos").glob("*.jpg")
    given = page.request.get(f"{here.address}/photos/{kept.stem}")
    assert Image.open(io.BytesIO(given.body())).size == (1600, 800)
    page.goto(f"{here.address}/records")
    (row,) = records_on(page)
    assert "disease sign East 3" in row


def test_what_is_no_picture_is_told_and_the_rest_is_kept(page: Page, here: Served, tmp_path: Path) -> None:
    (tmp_path / "broken.jpg").write_bytes(b"no picture at all")
    page.goto(f"{here.address}/visit")
    page.get_by_label("Who", exact=True).fill("Tester")
    page.locator("#ec-1").fill("1.6")
    page.get_by_label("Photo").set_input_files(tmp_path / "broken.jpg")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#doubt")).to_contain_text("The photo could not be read; the rest is kept.")
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)


def test_a_photo_that_the_server_refuses_holds_nothing_else_up(page: Page, here: Served, tmp_path: Path) -> None:
    page.goto(f"{here.address}/visit")
    page.evaluate("HTMLCanvasElement.prototype.toDataURL = () => 'data:image/jpeg;base64,AAAA'")
    page.context.set_offline(True)
    page.get_by_label("Who", exact=True).fill("Tester")
    page.locator("#ec-1").fill("1.6")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#waiting li")).to_have_count(1)
    page.get_by_label("Photo").set_input_files(a_picture(tmp_path / "leaf.jpg"))
    page.locator("#ec-2").fill("1.7")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#waiting li")).to_have_count(3)
    page.context.set_offline(False)
    expect(page.locator("#waiting li")).to_have_count(0)
    expect(page.locator("#unsent")).to_contain_text("was refused: it cannot be read as a picture")
    expect(page.locator("#photos")).to_contain_text("refused: it cannot be read as a picture. Take it again.")
    page.goto(f"{here.address}/records")
    assert len(records_on(page)) == 3
