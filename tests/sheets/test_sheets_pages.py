"""Every sheet of every season: pages, heads, units, names. Page sizes: ISO 216 (A4) and ANSI/ASME Y14.1 (A: Letter)."""

from dataclasses import replace
from itertools import pairwise

import pytest
from sheet_reading import HOSTILE_BANKS, printed

from wetfoot import __version__
from wetfoot.sheets.dossier import SHEETS, made
from wetfoot.sheets.press import INVENTED, printable

MM = 72.0 / 25.4
A4 = (210.0 * MM, 297.0 * MM)
LETTER = (8.5 * 72.0, 11.0 * 72.0)
LANDSCAPE = "5-log.pdf"


@pytest.mark.parametrize("name", SHEETS)
def test_every_page_says_what_it_is(in_metric, name):
    sheet = in_metric(name)
    for number, page in enumerate(sheet.pages, start=1):
        assert INVENTED in page
        assert "Example bench, Example yard" in page
        assert f"computed by Wetfoot {__version__}" in page
        assert f"page {number} of {len(sheet.pages)}" in page


@pytest.mark.parametrize("name", SHEETS)
def test_no_page_is_nearly_empty(in_metric, in_us, name):
    for sheet in (in_metric(name), in_us(name)):
        assert all(len(page) > 400 for page in sheet.pages)


@pytest.mark.parametrize("name", SHEETS)
def test_page_size_follows_the_units(in_metric, in_us, name):
    for sheet, size in ((in_metric(name), A4), (in_us(name), LETTER)):
        wanted = size[::-1] if name == LANDSCAPE else size
        assert (sheet.width_pt, sheet.height_pt) == pytest.approx(wanted, abs=0.5)


@pytest.mark.parametrize(
    ("name", "most"),
    [("1-summary.pdf", 3), ("2-build.pdf", 4), ("3-mixing.pdf", 2), ("4-visits.pdf", 3), ("5-log.pdf", 3),
     ("6-materials.pdf", 2), ("7-cautions.pdf", 1), ("8-trace.pdf", 8)],
)  # fmt: skip
def test_the_example_needs_few_pages(in_metric, in_us, name, most):
    assert len(in_metric(name).pages) <= most
    assert len(in_us(name).pages) <= most


def test_a_real_season_is_not_called_invented(metric):
    plan = metric.plan.model_copy(update={"invented": False})
    for name in SHEETS:
        text = printed(made(replace(metric, plan=plan), name)).text.lower()
        assert "invented" not in text.replace("invented no", "")  # what the list of the plan's values says


@pytest.mark.parametrize("name", SHEETS)
def test_the_same_season_prints_the_same_bytes(metric, name):
    assert made(metric, name) == made(metric, name)


@pytest.mark.parametrize("name", SHEETS)
def test_hostile_names_print_as_they_are(odd, in_odd, name):
    # the head of a page holds the beginning of the title, whatever it is made of
    assert odd.plan.title[:23].strip() in in_odd(name).text


@pytest.mark.parametrize("bank", HOSTILE_BANKS)
def test_hostile_bank_names_stay_whole_where_numbers_are_traced(in_odd, bank):
    assert "".join(f"Does every pot of bank {bank} keep its level?".split()) in in_odd("8-trace.pdf").flat


def test_sixty_banks_are_all_listed(sixty):
    for name in ("1-summary.pdf", "2-build.pdf", "5-log.pdf"):
        sheet = printed(made(sixty, name))
        assert all(f"Row {number}" in sheet.text for number in range(60)), name
        assert all(INVENTED in page for page in sheet.pages)


def test_long_words_can_break_and_short_ones_stay_whole():
    assert printable("heptahydrate") == "heptahydrate"
    pieces = printable({"a": ["x" * 40]})["a"][0].split("\u200b")
    assert "".join(pieces) == "x" * 40
    assert max(map(len, pieces)) <= 8
    assert all(first and second for first, second in pairwise(pieces))
