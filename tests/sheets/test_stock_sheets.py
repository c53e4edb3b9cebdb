"""The printed sheets of planting stock, read back from their PDF."""

import re
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import cv2
import numpy as np
import pytest
import vl_convert
from pypdf import PdfReader
from sheet_reading import Printed, printed
from stock_books import ODD_BANKS, Book, new_book, odd_names, two_generations

from wetfoot.answers.exposure import exposure
from wetfoot.answers.inspection import inspection
from wetfoot.answers.pedigree import pedigree
from wetfoot.answers.sampling import Wish
from wetfoot.book.stock_entries import Cutting, Harvest, HealthTest, Hold, Lot, Planting, StoreCheck
from wetfoot.drawing.family import family_svg
from wetfoot.errors import WetfootError
from wetfoot.sheets.exposure_report import exposure_sheet
from wetfoot.sheets.lot_labels import lot_labels
from wetfoot.sheets.press import press
from wetfoot.sheets.stock_sheets import (
    InspectionWish,
    LabelsWish,
    ShipmentWish,
    StockWish,
    dispatch_pdf,
    exposure_pdf,
    file_name,
    inspection_pdf,
    labels_pdf,
    pedigree_pdf,
    write_stock_sheets,
)

WILT = {"agent": "bacterial wilt", "method": "strip"}
SHIP = ShipmentWish("Second", "invented grower", 2.0, "INV-2026/4")
PAPER_PT = {"metric": (595.3, 841.9), "US": (612.0, 792.0)}  # ISO 216 A4; ANSI/ASME Y14.1 letter; 72 points an inch


@pytest.fixture(scope="module", params=["metric", "US"])
def book(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Book:
    made = new_book(tmp_path_factory.mktemp("stock") / "season", request.param)
    two_generations(made)
    return made


@pytest.fixture(scope="module")
def pdfs(book: Book) -> dict[str, bytes]:
    return every_sheet(book)


@pytest.fixture(scope="module")
def sheets(pdfs: dict[str, bytes]) -> dict[str, Printed]:
    return {name: printed(pdf) for name, pdf in pdfs.items()}


@pytest.fixture(scope="module")
def alarmed(tmp_path_factory: pytest.TempPathFactory) -> Book:
    """A book where a pot of the second generation's parents tested positive after all was lifted and sent."""
    made = new_book(tmp_path_factory.mktemp("alarmed") / "season")
    two_generations(made)
    bank = made.plan.banks[0].name
    made.write(
        (230, HealthTest, {"pot": f"{bank} 2", "result": "positive", "samples": 1, **WILT}),
        (260, Hold, {"kind": "hold", "lot": "Second", "cause": "positive strip"}),
        (262, StoreCheck, {"lot": "First", "kg": 0.2}),
    )
    return made


def says(sheet: Printed, *texts: str) -> None:
    for text in texts:
        assert "".join(text.split()) in sheet.flat, text


def not_official(sheet: Printed) -> None:
    """Hold a sheet to saying whose certification is, and to never calling anything free."""
    says(sheet, "no certificate and no permit", "plant health authority's alone")
    assert "freeof" not in sheet.flat.lower()


def every_sheet(book: Book) -> dict[str, bytes]:
    plan, folder, bank = book.plan, book.folder, book.plan.banks[0].name
    return {
        "labels": labels_pdf(plan, folder, ("Second",)),
        "pedigree": pedigree_pdf(plan, folder, "Second"),
        "inspection": inspection_pdf(plan, folder, book.day(120)),
        "exposure": exposure_pdf(plan, folder, f"{bank} 2", "bacterial wilt"),
        "dispatch": dispatch_pdf(plan, folder, SHIP, book.day(300)),
    }


def test_the_same_book_gives_the_same_bytes_on_the_papers_of_its_units(
    book: Book, pdfs: dict[str, bytes], sheets: dict[str, Printed]
) -> None:
    assert every_sheet(book) == pdfs
    for name, sheet in sheets.items():
        assert (sheet.width_pt, sheet.height_pt) == pytest.approx(PAPER_PT[book.plan.units], abs=0.2)
        if name != "labels":
            not_official(sheet)


def test_a_label_tells_what_the_lot_is_and_what_was_not_detected(book: Book, sheets: dict[str, Printed]) -> None:
    sheet, day = sheets["labels"], book.day(240)
    mass = "23.1lb" if book.plan.units == "US" else "10.5kg"
    says(sheet, "Second", "ginger, invented yellow, generation 1", mass, f"lifted {day}, packed {day}",
         f"bacterial wilt: not detected (limit 10 CFU/mL), {book.day(245)}, strip, 30 samples", "no certificate",
         "INVENTED EXAMPLE")  # fmt: skip
    assert "HOLD" not in sheet.flat
    assert "freeof" not in sheet.flat.lower()


def test_a_label_of_a_held_lot_says_so_larger_than_what_was_tested(alarmed: Book) -> None:
    pdf = labels_pdf(alarmed.plan, alarmed.folder, ("Second",))
    says(printed(pdf), f"HOLD: Second on hold since {alarmed.day(260)}: positive strip")
    sizes: dict[str, float] = {}

    def seen(text: str, _cm: object, tm: list[float], _font: object, size: float) -> None:
        for word in ("HOLD", "detected"):
            if word in text:
                sizes[word] = size * tm[3]

    PdfReader(BytesIO(pdf)).pages[0].extract_text(visitor_text=seen)
    assert abs(sizes["HOLD"]) > 1.2 * abs(sizes["detected"])


def test_phones_read_the_lots_name_off_a_label(book: Book) -> None:
    drawings = lot_labels(book.plan, book.folder).drawings
    texts = set()
    for svg in drawings.values():
        pixels = cv2.imdecode(np.frombuffer(vl_convert.svg_to_png(svg, scale=8), np.uint8), cv2.IMREAD_GRAYSCALE)
        texts.add(cv2.QRCodeDetector().detectAndDecode(pixels)[0])
    assert texts == {"First", "Second"}


@pytest.mark.parametrize(("grid", "start", "each"), [("a4-21", 20, 3), ("letter-30", 25, 4), ("a4-40", 3, 2)])
def test_labels_lie_on_the_grids_places(alarmed: Book, grid: str, start: int, each: int) -> None:
    pdf = labels_pdf(alarmed.plan, alarmed.folder, (), LabelsWish(grid, start, (1.0, -1.0), each))
    sheet = printed(pdf)
    assert sheet.flat.count("generation0") == sheet.flat.count("generation1") == each


def test_labels_that_cannot_be_are_refused(alarmed: Book, tmp_path: Path) -> None:
    for wish in (LabelsWish("letter-80"), LabelsWish("a4-14", 15), LabelsWish(each=0), LabelsWish(each=10_000)):
        with pytest.raises(WetfootError):
            labels_pdf(alarmed.plan, alarmed.folder, (), wish)
    empty = new_book(tmp_path / "empty")
    with pytest.raises(WetfootError, match="the book has no lot"):
        labels_pdf(empty.plan, empty.folder)


def test_the_pedigree_tells_every_member_and_test(book: Book, sheets: dict[str, Printed]) -> None:
    bank, sheet = book.plan.banks[0].name, sheets["pedigree"]
    says(sheet, "Lot Second.", f"Pots {bank} 1 to 3.", "Batch cut 1.", "Lot First.", "permit INV-77",
         "from invented laboratory", "60 samples of 5 pieces each, sensitivity 90 %, specificity 99 %",
         "not detected (limit 10 CFU/mL)", "knife blue, 10 % bleach, dip 50 °C 10 min", "Not tested")  # fmt: skip
    says(sheet, f"Mass balance, in {'lb' if book.plan.units == 'US' else 'kg'}", "closes")
    says(sheet, "26.5" if book.plan.units == "US" else "12")  # 3 pots of 4 kg came in


def test_gaps_and_alarms_stand_in_the_pedigree(alarmed: Book) -> None:
    sheet = printed(pedigree_pdf(alarmed.plan, alarmed.folder, "Second"))
    says(sheet, "Not to be sent:", "The balance does not close of First", "to be confirmed", "POSITIVE")


def test_the_family_is_drawn_without_overlap_from_source_to_lot(book: Book) -> None:
    svg = family_svg(pedigree(book.plan, book.folder, "Second"))
    assert svg.count('stroke="#1f6387"') == 3  # a line for each step
    assert svg.index("First</text>") < svg.index("cut 1</text>") < svg.index("1 to 3</text>")


def test_the_inspection_lists_every_pot_once_with_boxes_and_the_sample(book: Book, sheets: dict[str, Printed]) -> None:
    on, sheet = book.day(120), sheets["inspection"]
    for bank in book.plan.banks:
        for pot in range(1, bank.pots + 1):
            assert len(re.findall(rf"^{bank.name} {pot}\b(?! to|,|;)", sheet.text, re.MULTILINE)) == 1, (bank.name, pot)
    found = inspection(book.plan, book.folder, on)
    assert found.sample
    says(sheet, f"Seed of the draw: {on} bacterial wilt", found.sample.answer.words, "milky stream",
         "handbook, agronomy 8", "common practice, no source")  # fmt: skip
    says(sheet, "78.8°F" if book.plan.units == "US" else "26°C")
    assert "On hold" not in sheet.text


def test_holds_and_suspects_are_listed_first_and_looked_at_last(alarmed: Book) -> None:
    sheet = printed(inspection_pdf(alarmed.plan, alarmed.folder, alarmed.day(235)))
    says(sheet, "On hold or suspect", "Listed first, looked at last")
    first, second = (bank.name for bank in alarmed.plan.banks[:2])
    assert sheet.flat.index(f"{first}2") < sheet.flat.index(f"{second}1")
    says(sheet, f"{first} 2: {first} 2 tested positive for bacterial wilt on {alarmed.day(230)}")


def test_pools_are_listed_with_room_for_their_results(alarmed: Book) -> None:
    wish = InspectionWish(Wish(1, 0.15, 0.95, 0.9, 5), "nematodes", "invented seed")
    found = inspection(alarmed.plan, alarmed.folder, alarmed.day(235), wish.sample, wish.agent, wish.seed)
    assert found.sample
    sheet = printed(inspection_pdf(alarmed.plan, alarmed.folder, alarmed.day(235), wish))
    says(sheet, "Pots in it", "Seed of the draw: invented seed", *(", ".join(pool) for pool in found.sample.pools))


def test_the_exposure_report_tells_what_to_hold_whom_to_tell_and_what_may_go(alarmed: Book) -> None:
    bank = alarmed.plan.banks[0].name
    sheet = printed(exposure_pdf(alarmed.plan, alarmed.folder, f"{bank} 2", "bacterial wilt"))
    says(sheet, f"{bank} 1, 3 to 10", "shared water", "Second", "parentage", "invented grower", f"{alarmed.day(250)}",
         "test first", "Test again by another method", "the suspect itself", "First")  # fmt: skip
    clear = exposure_pdf(alarmed.plan, alarmed.folder, f"{alarmed.plan.banks[1].name} 1", "virus")
    says(printed(clear), "Nothing that was exposed was sent to anybody", "Second on hold since")


def test_the_dispatch_note_tells_what_goes_and_to_whom(book: Book, sheets: dict[str, Printed]) -> None:
    sheet = sheets["dispatch"]
    mass = "4.41 lb" if book.plan.units == "US" else "2 kg"
    says(sheet, "Second", "invented grower", mass, "INV-2026/4", f"{book.day(300)}",
         "not detected (limit 10 CFU/mL)", "30 samples", "neither, by the station's book")  # fmt: skip
    assert len(sheet.pages) == 1


def test_a_held_lot_gets_no_note_and_nothing_is_written(alarmed: Book) -> None:
    wish = StockWish(alarmed.day(300), ("First",), ship=SHIP)
    with pytest.raises(WetfootError, match="on hold since"):
        write_stock_sheets(alarmed.plan, alarmed.folder, wish)
    assert not (alarmed.folder / "sheets" / "stock").exists()


def test_names_that_mean_something_elsewhere_are_printed_as_they_are(tmp_path: Path) -> None:
    book = new_book(tmp_path / "odd", change=odd_names)
    first, second = '#panic() $x$ *L* _m_ @ref <a> "q" `c` \\', "../../" + "W" * 90
    two_generations(book, first, second, to="=HYPERLINK(1)&<b>")
    sheets = {**every_odd(book, second)}
    for name, pdf in sheets.items():
        sheet = printed(pdf)
        assert ("W" * 20) in sheet.flat, name
        assert sheet.pages
    says(printed(sheets["pedigree"]), first)
    files = write_stock_sheets(book.plan, book.folder, StockWish(book.day(120))).files
    assert all(path.is_relative_to(book.folder / "sheets" / "stock") and path.is_file() for path in files)
    assert len({path.name for path in files}) == len(files) == 4


def every_odd(book: Book, lot: str) -> dict[str, bytes]:
    ship = ShipmentWish(lot, "#x <b>", 1.0, "$1$")
    return {
        "labels": labels_pdf(book.plan, book.folder, (lot,)),
        "pedigree": pedigree_pdf(book.plan, book.folder, lot),
        "exposure": exposure_pdf(book.plan, book.folder, f"{ODD_BANKS[0]} 2"),
        "dispatch": dispatch_pdf(book.plan, book.folder, ship, book.day(300)),
    }


def test_two_hundred_pots_on_many_pages_are_all_there(tmp_path: Path) -> None:
    def large(plan: dict[str, Any]) -> None:
        plan["tank"]["volume"], plan["solution"]["barrel"] = "20000 L", "200 L"
        plan["banks"] = [{**plan["banks"][0], "name": f"Row {number}", "pots": 10} for number in range(1, 21)]

    book = new_book(tmp_path / "large", change=large)
    rows = [(0, Planting, {"lot": "Wide", "pot": f"Row {r} {p}", "place": f"Row {r}", "pieces": 1, "kg": 0.05})
            for r in range(1, 21) for p in range(1, 11)]  # fmt: skip
    lifted = [
        (240, Harvest, {"lot": "Next", "pot": f"Row {r} {p}", "kg": 3.0}) for r in range(1, 21) for p in range(1, 11)
    ]
    book.write((-9, Lot, {"lot": "Wide", "kg": 20.0}), *rows, (240, Lot, {"lot": "Next"}), *lifted)
    sheet = printed(inspection_pdf(book.plan, book.folder, book.day(100)))
    assert len(sheet.pages) >= 6
    lines = [line.strip() for line in sheet.text.splitlines()]
    for row in range(1, 21):
        for pot in range(1, 11):
            assert any(line == f"Row {row} {pot}" or line.startswith(f"Row {row} {pot} ") for line in lines), (row, pot)
    found = pedigree(book.plan, book.folder, "Next")
    assert [member.steps for member in found.members] == [0, 1, 2]
    assert len(printed(pedigree_pdf(book.plan, book.folder, "Next")).pages) <= 2


def test_a_wide_family_says_how_many_are_not_drawn(tmp_path: Path) -> None:
    book = new_book(tmp_path / "wide")
    lots = [(-9, Lot, {"lot": f"P{n}", "kg": 1.0}) for n in range(9)]
    book.write(*lots, (0, Lot, {"lot": "Mixed", "parents": tuple(f"P{n}" for n in range(9)), "kg": 3.0}))
    assert "and 4 more beside these" in family_svg(pedigree(book.plan, book.folder, "Mixed"))


def test_files_are_named_after_what_they_are_about_and_never_clash() -> None:
    assert file_name("G1 2026") == "G1-2026"
    names = ["a/b", "a\\b", "a b", "a-b", "../a", "", "ä", "CON", "x" * 300, "x" * 301]
    assert len({file_name(name) for name in names} - {"a-b"}) == len(names) - 2
    assert all("/" not in file_name(name) and len(file_name(name)) < 60 for name in names)
    assert file_name("a b") == "a-b" == file_name("a-b")


def test_a_usual_run_writes_list_labels_and_pedigrees(book: Book) -> None:
    written = write_stock_sheets(book.plan, book.folder, StockWish(book.day(120)))
    assert [path.name for path in written.files] == [
        "lot-labels.pdf", "pedigree-First.pdf", "pedigree-Second.pdf", f"inspection-{book.day(120)}.pdf",
    ]  # fmt: skip
    record = written.record(book.plan)
    assert record["trace"]["seed"] == f"{book.day(120)} bacterial wilt"
    assert sum(len(pool) for pool in record["answer"]["sample"]["pools"]) > 0


def test_unconfirmed_and_repeated_results_are_told_apart(tmp_path: Path) -> None:
    book = new_book(tmp_path / "repeat")
    book.write((0, Lot, {"lot": "A", "kg": 1.0}))
    (first,) = book.write((1, HealthTest, {"lot": "A", "result": "positive", **WILT}))
    assert "to be confirmed" in printed(pedigree_pdf(book.plan, book.folder, "A")).text
    book.write((2, HealthTest, {"lot": "A", "result": "negative", "confirms": first.id, **WILT}))
    sheet = printed(pedigree_pdf(book.plan, book.folder, "A"))
    says(sheet, f"repeated: negative {book.day(2)}", "not detected (limit not written)")


def test_cuttings_without_a_knife_are_told(tmp_path: Path) -> None:
    book = new_book(tmp_path / "knife")
    bank = book.plan.banks[0].name
    book.write(
        (-9, Lot, {"lot": "A", "kg": 1.0}),
        (-5, Cutting, {"batch": "c", "lot": "A", "pieces": 3, "kg": 0.2}),
        (0, Planting, {"batch": "c", "pot": f"{bank} 1", "place": bank, "pieces": 3}),
        (200, Lot, {"lot": "B"}),
        (200, Harvest, {"lot": "B", "pot": f"{bank} 1", "kg": 3.0}),
    )
    says(
        printed(pedigree_pdf(book.plan, book.folder, "B")), "knife not written, not disinfected", "who shared its knife"
    )


def test_the_day_of_an_inspection_without_pots_is_refused(alarmed: Book) -> None:
    with pytest.raises(WetfootError, match="no pot stands"):
        inspection_pdf(alarmed.plan, alarmed.folder, date(2019, 1, 1))


def test_a_long_bench_is_drawn_in_parts_that_fit_their_pages(tmp_path: Path) -> None:
    def long(plan: dict[str, Any]) -> None:
        plan["tank"]["volume"], plan["solution"]["barrel"] = "20000 L", "200 L"
        plan["banks"] = [{**plan["banks"][0], "name": f"Row {number}", "pots": 6} for number in range(1, 25)]

    book = new_book(tmp_path / "long", change=long)
    sheet = exposure_sheet(exposure(book.plan, book.folder, "Row 7 2"), book.folder)
    assert len(sheet.drawings) == 3
    drawn = "".join(sheet.drawings.values())
    assert all(f">Row {number}</text>" in drawn for number in range(1, 25))
    text = printed(press(sheet, book.plan)).text
    assert all(re.search(rf"Row {number}\b", text) for number in range(1, 25))
