"""A trial's report on paper and in a workbook: one page of advice, the table of proceedings, nothing that can act."""

from __future__ import annotations

from io import BytesIO
from pathlib import Path

import openpyxl
import pytest
from sheet_reading import printed

from wetfoot.answers.trial_demo import YEARS, write_demo_trial
from wetfoot.answers.trial_layout import read_factor, recipe_of, trial_layout
from wetfoot.answers.trial_proceedings import proceedings
from wetfoot.answers.trial_report import Report, trial_report
from wetfoot.answers.trial_report_tables import tables
from wetfoot.errors import WetfootError
from wetfoot.plan.example import new_folder
from wetfoot.plan.file import changed_text
from wetfoot.sheets.press import press
from wetfoot.sheets.trial_files import LAYOUT_FILES, REPORT_FILES, LabelWish, write_layout, write_report
from wetfoot.sheets.trial_report import advice_sheet, report_head, report_sheet
from wetfoot.sheets.trial_workbook import trial_workbook
from wetfoot.trial.layout_file import read_layout

DATA = Path(__file__).parents[1] / "trial" / "data"
FACTORS = (read_factor("gutter=no,yes@boards"), read_factor("pieces=1,2,3,4"))


@pytest.fixture(scope="module", params=["metric", "US"])
def demo(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Report:
    folder = tmp_path_factory.mktemp("report") / "season"
    new_folder(folder, request.param)
    write_demo_trial(folder)
    return trial_report([folder / "trial" / f"{year}.csv" for year in YEARS], margins=("dome=yes by 5 %",))


@pytest.fixture(scope="module")
def case_a() -> Report:
    return trial_report([DATA / "trial_case_A.csv"])


def test_the_advice_is_one_page_that_says_all_of_it(demo: Report) -> None:
    sheet = advice_sheet(demo)
    assert sheet is not None
    assert demo.recommendation is not None
    page = printed(press(sheet, report_head(demo)))
    assert len(page.pages) == 1
    assert (page.width_pt < 600) == (demo.units == "metric")
    assert "Invented example" in page.text
    for title, words in demo.recommendation.lines:
        assert "".join(f"{title}. {words}".split()) in page.flat.replace("\u00ad", "")
    assert ("lb" in page.text) == (demo.units == "US")


def test_the_report_has_answers_table_figures_and_all_tables(demo: Report) -> None:
    page = printed(press(report_sheet(demo), report_head(demo)))
    for words in ("What was guessed", "Table of means", "Significance (p)", "All tables", "Doubtful values"):
        assert words in page.text
    for table in tables(demo.findings):
        if table.rows:
            assert "".join(table.title.split()) in page.flat
    assert set(report_sheet(demo).drawings) == {"response", "net", "split", "residual", "position"}


def test_the_proceedings_table_has_what_a_referee_asks_for(case_a: Report) -> None:
    paper = proceedings(case_a.findings, "Somewhere", "ginger")
    blocks = dict(paper.blocks)
    # handbook 4.2: means 1.. of pieces; letters a ab b c (Tukey); units in the head (trap 16)
    assert [(row[0], row[2]) for row in blocks["pieces"]] == [("1", "c"), ("2", "b"), ("3", "ab"), ("4", "a")]
    assert blocks["pieces"][3][3] == "7/16"
    assert paper.heads[1] == "w, g"
    assert [row[0] for row in blocks["Significance (p)"]][:5] == [
        "gutter", "pieces", "pieces, linear", "pieces, quadratic", "pieces, cubic"
    ]  # fmt: skip
    kinds = [row[0] for row in blocks["Errors of differences"]]
    assert "SED / LSD 5 %, two levels of gutter within one pieces" in kinds
    assert "n = 58 weighed pots of 64" in paper.title
    assert any("Split plot in 4 blocks: gutter on boards" in note for note in paper.footnotes)
    assert any("6 of 64 pots" in note for note in paper.footnotes)


def test_the_workbook_holds_numbers_as_numbers(case_a: Report) -> None:
    book = openpyxl.load_workbook(BytesIO(trial_workbook(case_a)))
    tests = book["Tests of w"]
    assert [cell.value for cell in tests[2]][:6] == ["term", "stratum", "df", "error df", "F", "p"]
    # handbook 4.2, M3
    assert tests["F3"].value is None or isinstance(tests["E3"].value, float)
    assert tests["E3"].value == pytest.approx(33.0238, rel=1e-4)
    pots = list(book["pots"].iter_rows(min_row=3, values_only=True))
    assert len(pots) == 64
    assert sum(row[-3] for row in pots if row[-3] is not None) == 108659  # handbook 1: sum(w)


def test_nothing_typed_can_act_as_a_formula(tmp_path: Path) -> None:
    text = (DATA / "trial_case_A.csv").read_text().replace(",air,", ",=1+1,").replace(",std,", ",#panic(),")
    (tmp_path / "odd.csv").write_text(text)
    made = trial_report([tmp_path / "odd.csv"])
    book = openpyxl.load_workbook(BytesIO(trial_workbook(made)))
    for sheet in book:
        for row in sheet.iter_rows():
            assert all(cell.data_type != "f" for cell in row)
    page = printed(press(report_sheet(made), report_head(made)))
    assert "=1+1" in page.text
    assert "#panic()" in page.text


def test_a_report_is_written_whole_and_again_the_same(tmp_path: Path, case_a: Report) -> None:
    written = write_report(case_a, tmp_path / "out")
    assert [path.name for path in written] == list(REPORT_FILES)
    first = [path.read_bytes() for path in written[:2]]
    assert [path.read_bytes() for path in write_report(case_a, tmp_path / "out")[:2]] == first


def test_a_trial_without_pieces_has_a_report_but_no_advice(tmp_path: Path) -> None:
    made = trial_report([DATA / "npk.csv"])
    assert advice_sheet(made) is None
    assert [path.name for path in write_report(made, tmp_path)] == list(REPORT_FILES[1:])


def test_a_layout_is_written_with_all_that_is_printed(tmp_path: Path) -> None:
    laid = trial_layout(recipe_of(FACTORS, 4, "invented", 2026))
    written = write_layout(laid, tmp_path / "plain")
    assert [path.name for path in written] == list(LAYOUT_FILES)
    assert read_layout(written[0]) == laid.layout
    assert "<svg" in written[1].read_text()
    assert printed(written[3].read_bytes()).text.count("Weighing list") >= 1
    write_layout(laid, tmp_path / "plain")  # the same layout again is no other one


def test_a_seasons_layout_goes_into_its_trial_folder_on_its_paper(tmp_path: Path) -> None:
    new_folder(tmp_path / "season", "US")
    plan = tmp_path / "season" / "season.toml"
    plan.write_text(changed_text(plan.read_text("utf-8"), {"title": "Station"}), "utf-8")
    written = write_layout(trial_layout(recipe_of(FACTORS, 2, "invented", 2026)), tmp_path / "season")
    assert written[0] == tmp_path / "season" / "trial" / "layout.csv"
    page = printed(written[3].read_bytes())
    assert page.width_pt == pytest.approx(612, abs=1)  # US letter, 8.5 in
    assert "Station" in page.text


def test_another_layout_is_not_written_over_unasked(tmp_path: Path) -> None:
    one, other = (trial_layout(recipe_of(FACTORS, 2, seed, 2026)) for seed in ("one", "other"))
    write_layout(one, tmp_path)
    with pytest.raises(WetfootError, match="another layout"):
        write_layout(other, tmp_path)
    write_layout(other, tmp_path, LabelWish(per_pot=2), replace=True)
    assert read_layout(tmp_path / "layout.csv") == other.layout
