"""Label sheets: the grid's sums, the place of every label, codes that a reader reads."""

import cv2
import numpy as np
import pytest
import vl_convert
from hypothesis import given
from hypothesis import strategies as st
from sheet_reading import printed

from wetfoot.drawing.qr import qr_drawing, qr_modules, qr_rows
from wetfoot.errors import WetfootError
from wetfoot.sheets.label_grid import label_grid, label_grids, places
from wetfoot.sheets.labels import labels, qr_side_mm
from wetfoot.sheets.press import press
from wetfoot.trial.check_character import LETTERS, without_check
from wetfoot.trial.designs import draw
from wetfoot.trial.recipe import Factor, Recipe

PIECES = Factor("pieces", ("1", "2", "3", "4"))
GUTTER = Factor("gutter", ("no", "yes"), "boards")
LAYOUT = draw(Recipe((GUTTER, PIECES), blocks=4, seed="invented", year=2026))
MM_A_POINT = 25.4 / 72  # a point is 1/72 inch of 25.4 mm


@pytest.mark.parametrize("grid", label_grids().values(), ids=lambda grid: grid.name)
def test_grids_fill_their_page(grid):
    # identity of trial handbook 9: 2 margin + n size + (n - 1) gap = page; printed sizes are rounded to 0.1 mm
    for axis, count in enumerate((grid.across, grid.down)):
        sum_mm = 2 * grid.first_mm[axis] + count * grid.size_mm[axis] + (count - 1) * grid.gap_mm[axis]
        assert sum_mm == pytest.approx(grid.page_mm[axis], abs=0.21)


@pytest.mark.parametrize("grid", label_grids().values(), ids=lambda grid: grid.name)
def test_labels_lie_apart_and_on_the_page(grid):
    corners = [grid.corner_mm(place) for place in range(grid.labels)]
    right, bottom = (corners[-1][axis] + grid.size_mm[axis] for axis in (0, 1))
    assert right <= grid.page_mm[0]
    assert bottom <= grid.page_mm[1]
    for x, y in corners:
        inside = [1 for a, b in corners if abs(a - x) < grid.size_mm[0] - 1e-9 and abs(b - y) < grid.size_mm[1] - 1e-9]
        assert len(inside) == 1


@pytest.mark.parametrize("page", [("a4-21", 210, 297), ("letter-30", 215.9, 279.4)])
def test_pages_have_the_sizes_of_the_standards(page):
    # ISO 216: A4 is 210 x 297 mm; ANSI/ASME Y14.1: letter is 8.5 x 11 in
    assert label_grid(page[0]).page_mm == page[1:]


@given(st.sampled_from(sorted(label_grids())), st.integers(1, 200), st.integers(1, 90))
def test_every_label_has_its_own_place_from_the_start_on(name, count, start):
    grid = label_grid(name)
    if start > grid.labels:
        with pytest.raises(WetfootError, match=f"1 to {grid.labels}"):
            list(places(grid, count, start))
        return
    found = list(places(grid, count, start))
    assert found[0] == (0, start - 1)
    assert len(set(found)) == count
    assert [page * grid.labels + place for page, place in found] == list(range(start - 1, start - 1 + count))


@pytest.mark.parametrize("name", sorted(label_grids()))
def test_printed_labels_say_every_pot_on_pages_of_the_grid(name, example_plan):
    grid = label_grid(name)
    sheet = printed(press(labels(LAYOUT, name, start=3), example_plan))
    assert (sheet.width_pt * MM_A_POINT, sheet.height_pt * MM_A_POINT) == pytest.approx(grid.page_mm, abs=0.01)
    assert len(sheet.pages) == -(-(len(LAYOUT.recorded) + 2) // grid.labels)
    for plot in LAYOUT.recorded:
        assert f"{plot.label}plot{plot.number}{plot.code}" in sheet.flat


def test_two_labels_a_pot_stand_beside_each_other(example_plan):
    says = labels(LAYOUT, "a4-21", per_pot=2).says
    pots = [label["pot"] for page in says["pages"] for label in page]
    assert pots == [plot.pot for plot in LAYOUT.recorded for _ in (1, 2)]
    text = printed(press(labels(LAYOUT, per_pot=2), example_plan)).flat
    assert text.count(LAYOUT.recorded[0].label) == 2


def test_an_offset_moves_every_label():
    one, other = (labels(LAYOUT, "a4-21", offset_mm=offset).says["pages"] for offset in ((0, 0), (1.5, -0.5)))
    for a, b in zip(one[0], other[0], strict=True):
        assert np.subtract(b["at"], a["at"]) == pytest.approx([1.5, -0.5])


def test_blind_labels_do_not_tell_the_treatment(example_plan):
    blind = printed(press(labels(LAYOUT, blind=True), example_plan)).text
    assert "pieces" not in blind
    assert LAYOUT.recorded[0].code in blind
    assert "pieces" in printed(press(labels(LAYOUT), example_plan)).text


def read_code(text):
    """Draw a QR code at 8 dots a module and read it with OpenCV's reader, which is independent of what drew it."""
    png = vl_convert.svg_to_png(qr_drawing(text), scale=8)
    image = cv2.imdecode(np.frombuffer(png, np.uint8), cv2.IMREAD_GRAYSCALE)
    return cv2.QRCodeDetector().detectAndDecode(image)[0]


def test_qr_codes_are_read_by_another_reader():
    # Version 1 codes are small: the reader misses one now and then, but never reads another text
    found = {plot.label: read_code(plot.label) for plot in LAYOUT.recorded}
    assert {read for text, read in found.items() if read not in ("", text)} == set()
    assert sum(read == text for text, read in found.items()) >= 0.9 * len(found)


def test_a_code_of_sixteen_letters_fits_the_smallest_symbol():
    # ISO/IEC 18004: version 1 has 21 modules, holds 16 alphanumeric characters at level Q, and needs 4 clear modules
    assert len(qr_rows("26B1L3" + "A" * 10)) == 21
    assert len(qr_rows("26B1L3" + "A" * 11)) == 25
    assert qr_modules("26B1L3B") == 29


def test_qr_codes_have_modules_that_a_phone_reads():
    for grid in label_grids().values():
        side = qr_side_mm(grid, 29)
        assert 0.35 <= side / 29 <= 0.75
        assert side <= grid.size_mm[1]


@pytest.mark.parametrize(
    "asked", [{"grid": "a4-99"}, {"start": 0}, {"start": 22}, {"per_pot": 0}, {"offset_mm": (11, 0)}]
)
def test_labels_that_cannot_be_printed_are_refused(asked):
    with pytest.raises(WetfootError):
        labels(LAYOUT, **asked)


def test_what_a_scanner_reads_is_a_code_with_its_check_character():
    for plot in LAYOUT.recorded:
        assert without_check(plot.label) == plot.pot
        assert set(plot.pot) <= set("0123456789" + LETTERS)


def test_long_levels_stay_on_their_labels(example_plan):
    long = Factor("a factor with a rather long name & <b>", ("#panic() " * 9 + "x", "w" * 80))
    sheet = printed(press(labels(draw(Recipe((long,), blocks=4, seed="s", year=2026)), "a4-65"), example_plan))
    assert len(sheet.pages) == 1
    assert "#panic" in sheet.text
