"""The code of a pot is checked on the phone, typed or scanned.

Source of the check character: ISO/IEC 7064 MOD 37-2, as python-stdnum computes it.
"""

from __future__ import annotations

import random

import pytest
from browsing import ALL_SENT, Served, a_picture, records_on
from playwright.sync_api import Page, expect
from stdnum.iso7064 import mod_37_2

from wetfoot.trial.check_character import LETTERS, with_check

GOOD = with_check("26B1L07")
MISREAD = GOOD.replace("L", "E")
# Stands in for the reader that phones have and this browser lacks.
A_READER = """window.BarcodeDetector = class { async detect(picture) { return [{ rawValue: "%s" }]; } };"""

# Stands in for a camera: a picture that moves.
A_CAMERA = """navigator.mediaDevices.getUserMedia = async () => {
  const canvas = document.createElement("canvas"), pen = canvas.getContext("2d");
  setInterval(() => pen.fillRect(Math.random() * 99, 9, 9, 9), 50);
  return (window.given = canvas.captureStream(20));
}"""


def test_the_phone_and_the_labels_agree_on_check_characters(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    drawn = random.Random(37)
    codes = ["".join(drawn.choices("0123456789" + LETTERS, k=drawn.randint(2, 12))) for _ in range(300)]
    found = page.evaluate("codes => codes.map(checkCharacter)", codes)
    assert found == [mod_37_2.calc_check_digit(code) for code in codes]
    told = page.evaluate("codes => codes.map(readPot)", [with_check(code) for code in codes if code[-1] in LETTERS])
    assert all("doubt" not in each for each in told)


def test_any_one_wrong_character_is_noticed(page: Page, here: Served) -> None:
    """MOD 37-2 finds every single substitution."""
    page.goto(f"{here.address}/visit")
    wrong = [GOOD[:at] + other + GOOD[at + 1 :] for at in range(len(GOOD)) for other in LETTERS if other != GOOD[at]]
    assert all("doubt" in each for each in page.evaluate("codes => codes.map(readPot)", wrong))


@pytest.mark.parametrize("typed", [GOOD, f"26b1-l07 {GOOD[-1].lower()}"])
def test_a_code_that_fits_is_told_and_recorded(page: Page, here: Served, typed: str) -> None:
    page.goto(f"{here.address}/visit")
    page.get_by_label("Who", exact=True).fill("Tester")
    page.get_by_label("Pot").fill(typed)
    expect(page.locator("#pot-told")).to_have_text("Pot 26B1L07: the check character fits.")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{here.address}/records?find=26B1L07")
    assert len(records_on(page)) == 1


def test_a_misread_code_is_asked_about_and_kept_with_its_doubt(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    page.get_by_label("Who", exact=True).fill("Tester")
    page.get_by_label("Pot").fill(MISREAD)
    expect(page.locator("#pot-told")).to_contain_text("does not fit")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#doubt")).to_contain_text("the check character at its end does not fit")
    page.get_by_role("button", name="Keep").click()
    expect(page.locator("#unsent")).to_have_text(ALL_SENT)
    page.goto(f"{here.address}/records?find=fit")
    assert len(records_on(page)) == 1


def test_a_label_is_scanned_where_the_browser_reads_codes(page: Page, here: Served, tmp_path: object) -> None:
    page.add_init_script(A_READER % GOOD)
    page.goto(f"{here.address}/visit")
    with page.expect_file_chooser() as chooser:
        page.get_by_role("button", name="Scan the label").click()
    chooser.value.set_files(a_picture(tmp_path / "label.jpg"))  # type: ignore[operator]
    expect(page.get_by_label("Pot")).to_have_value(GOOD)
    expect(page.locator("#pot-told")).to_contain_text("fits")


def test_the_camera_reads_a_label_live_and_is_let_go(page: Page, here: Served) -> None:
    page.add_init_script(A_CAMERA)
    page.add_init_script(A_READER % GOOD)
    page.goto(f"{here.address}/visit")
    page.evaluate("seen = null; BarcodeDetector.prototype.detect = async () => (seen ? [{ rawValue: seen }] : [])")
    page.get_by_role("button", name="Scan with the camera").click()
    expect(page.locator("#camera")).to_be_visible()
    expect(page.get_by_label("Pot")).to_have_value("")
    page.evaluate("code => { seen = code }", GOOD)
    expect(page.get_by_label("Pot")).to_have_value(GOOD)
    expect(page.locator("#pot-told")).to_contain_text("fits")
    expect(page.locator("#camera")).to_be_hidden()
    assert page.evaluate("given.getTracks().map(track => track.readyState)") == ["ended"]


def test_the_camera_is_stopped_and_a_typed_code_stays(page: Page, here: Served) -> None:
    page.add_init_script(A_CAMERA)
    page.add_init_script("window.BarcodeDetector = class { async detect() { return []; } }")
    page.goto(f"{here.address}/visit")
    page.get_by_label("Pot").fill("7")
    page.get_by_role("button", name="Scan with the camera").click()
    page.get_by_role("button", name="Stop the camera").click()
    expect(page.locator("#camera")).to_be_hidden()
    expect(page.get_by_label("Pot")).to_have_value("7")


def test_a_camera_that_is_refused_is_told(page: Page, here: Served) -> None:
    page.add_init_script(A_READER % GOOD)
    page.add_init_script(
        "navigator.mediaDevices.getUserMedia = async () => { throw new DOMException('no', 'NotAllowedError') }"
    )
    page.goto(f"{here.address}/visit")
    page.get_by_role("button", name="Scan with the camera").click()
    expect(page.locator("#pot-told")).to_contain_text("The camera cannot be used (NotAllowedError)")
    expect(page.get_by_role("button", name="Scan the label")).to_be_visible()


def test_without_a_reader_the_page_says_that_codes_are_typed(page: Page, here: Served) -> None:
    page.goto(f"{here.address}/visit")
    if not page.evaluate("canScan"):
        expect(page.locator("#pot-told")).to_contain_text("type the code")
        expect(page.get_by_role("button", name="Scan the label")).to_be_hidden()
