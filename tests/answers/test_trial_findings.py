"""A trial's table as a person hands it in: what is guessed, what is found, what is refused.

Reference values of case A (simulated data): the trial handbook, sections 4.1 to 4.3, computed there with the general
statistics language R 4.2.2 (lme4, lmerTest, pbkrtest, emmeans); oats: Yates 1935, handbook 5.2.
"""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest

from wetfoot.answers.trial_analysis import Findings, Wish, analyse
from wetfoot.answers.trial_answers import answers, record
from wetfoot.answers.trial_margin import read_margin
from wetfoot.answers.trial_report_tables import losses_words, tables, terms_table
from wetfoot.answers.trial_table import Asked, read_table
from wetfoot.errors import WetfootError

DATA = Path(__file__).parents[1] / "trial" / "data"
CASE_A = DATA / "trial_case_A.csv"


@pytest.fixture(scope="module")
def case_a() -> Findings:
    return analyse(read_table([CASE_A]), Wish(seed_g=60.0, margins=(read_margin("pot=air by 5 %"),)))


@pytest.fixture(scope="module")
def complete() -> Findings:
    return analyse(read_table([CASE_A], Asked(response="w_complete")), Wish(seed_g=60.0))


def rows_of(path: Path) -> list[dict[str, str]]:
    with path.open(newline="") as file:
        return list(csv.DictReader(file))


def written(path: Path, rows: list[dict[str, str]]) -> Path:
    with path.open("w", newline="") as file:
        writer = csv.DictWriter(file, list(rows[0]))
        writer.writeheader()
        writer.writerows(rows)
    return path


def test_columns_are_guessed_and_every_guess_is_told(case_a: Findings) -> None:
    roles = case_a.table.roles
    assert roles.board_factors == ("gutter",)
    assert roles.pot_factors == ("pieces", "pot")
    assert (roles.block, roles.board, roles.year, roles.quantitative) == ("block", "board", None, ("pieces",))
    told = " ".join(case_a.table.said)
    for word in ("'w' taken as response", "in grams", "on whole boards: gutter", "numbers with a meaning: pieces"):
        assert word in told


def test_lost_pots_get_kenward_roger_tests_and_the_check_held_at_zero(case_a: Findings) -> None:
    # handbook 4.2, M3 (variance of boards free) and M2 (held at zero), REML with blocks fixed
    gutter = case_a.analysis.term("gutter")
    assert (gutter.f, gutter.df_error, gutter.p) == pytest.approx((33.0238, 2.8922, 0.0115614), rel=1e-4)
    held = case_a.analysis.bounded_tests["gutter"]
    assert (held.f, held.df_error, held.p) == pytest.approx((28.379869, 2.910658, 0.0139529), rel=1e-5)
    table = terms_table(case_a)
    assert table.shown[0] == ["gutter", "board", "1", "2.89", "33.02", "0.0116", "*", "0.0140"]
    assert "held at zero" in table.note


def test_nothing_lost_gives_the_exact_strata(complete: Findings) -> None:
    # handbook 4.1: strata ANOVA, R = own to all digits
    assert complete.is_exact
    expected = {
        "gutter": (24.41089, 3, 0.0159033),
        "pieces": (52.90946, 42, 2.5484e-14),
        "pot": (3.58603, 42, 0.065169),
    }
    for name, (f, df, p) in expected.items():
        test = complete.analysis.term(name)
        assert (test.f, test.df_error, test.p) == pytest.approx((f, df, p), rel=1e-4)
    assert "All 64 pots have a value" in losses_words(complete)


def test_lost_pots_are_named_and_their_treatment_is_told(case_a: Findings) -> None:
    # handbook 1: the pots lost
    assert [case_a.table.pot[i] for i in case_a.analysis.lost] == ["P009", "P010", "P028", "P045", "P058", "P060"]
    assert "6 of 64 pots" in losses_words(case_a)
    assert "no value is made up" in losses_words(case_a)


def test_the_curve_is_that_of_the_handbook(complete: Findings) -> None:
    # handbook 8, seed 60 g: p* = 5.53998 by least squares on the 64 pots; through the means the same to a part in 1000
    best = complete.pieces[0].best
    assert best is not None
    assert best.pieces == pytest.approx(5.53998, rel=1e-3)
    assert best.beyond_tested
    assert "not below 4" in next(a.words for a in answers(complete) if a.question.startswith("How many"))


def test_split_pots_are_counted_and_weighed(case_a: Findings) -> None:
    # handbook 4.3: Firth x 2.49784895 (p 2.85491e-05), pot std/air coded +-1: -0.87139076; exact trend 4.426179e-05
    splits = case_a.splits
    assert splits is not None
    effects = {effect.what: effect for effect in splits.effects}
    assert np.log(effects["one more of pieces"].odds_ratio) == pytest.approx(2.49784895, rel=1e-6)
    assert effects["one more of pieces"].p == pytest.approx(2.85491e-05, rel=1e-4)
    assert np.log(effects["pot std against air"].odds_ratio) == pytest.approx(-2 * 0.87139076, rel=1e-6)
    assert splits.trend_p == pytest.approx(4.426179e-05, rel=1e-6)
    assert splits.low[3] == pytest.approx(0.230987, rel=1e-4)  # Wilson, handbook 4.3
    assert "7 of 16 at 4" in splits.words
    assert "8 of them were weighed" in splits.words


def test_the_agreed_margin_is_in_grams_and_judged_one_sided(case_a: Findings) -> None:
    (margin,) = case_a.margins
    assert margin.bearable == pytest.approx(0.05 * 1916, rel=2e-3)  # handbook 4.2: mean of pot std 1916
    assert margin.against == "std"
    assert margin.verdict.verdict == "undecided"
    # the bound is difference - t SE by hand, with the t quantile of the difference's own df
    from scipy import stats

    by_hand = margin.difference - stats.t.ppf(0.95, margin.df) * margin.standard_error
    assert margin.verdict.lower == pytest.approx(by_hand)


def test_stems_are_tested_as_counts(case_a: Findings) -> None:
    # handbook 4.3: Poisson with block, gutter, pieces and pot has deviance 45.0 on 55 df, so a scale a little below 1
    (stems,) = case_a.counts
    assert [name for name, _, _ in stems.tests] == ["gutter", "pieces", "pot"]
    assert stems.tests[1][2] < 1e-6 < stems.tests[0][2]
    assert stems.scale == pytest.approx(45.0 / 55.0, abs=0.05)


def test_the_record_is_json_and_has_every_table(case_a: Findings) -> None:
    found = record(case_a)
    assert set(found) == {"answer", "units", "trace", "warnings"}
    text = json.dumps(found, allow_nan=False)
    for table in tables(case_a):
        assert json.dumps(table.title) in text


def test_boards_without_a_column_are_told_by_the_factor_on_them() -> None:
    # Yates 1935: V F 1.48534 on 2 and 10, N F 37.68565 on 3 and 45 (handbook 5.2; MASS example output)
    asked = Asked(board_factors=("variety",), pot_factors=("nitrogen",))
    found = analyse(read_table([DATA / "oats.csv"], asked))
    variety, nitrogen = found.analysis.term("variety"), found.analysis.term("nitrogen")
    assert (variety.f, variety.df_error) == pytest.approx((1.48534, 10), rel=1e-5)
    assert (nitrogen.f, nitrogen.df_error) == pytest.approx((37.68565, 45), rel=1e-6)
    assert "no column of boards" in " ".join(found.table.said)


def test_no_boards_is_warned_of() -> None:
    found = analyse(read_table([DATA / "oats.csv"]))
    assert any("No boards are known" in warning for warning in found.analysis.warnings)
    assert found.analysis.term("variety").df_error == 55  # the wrong error, which is why


def test_one_file_a_year_is_one_trial(tmp_path: Path) -> None:
    rows = rows_of(CASE_A)
    files = []
    for year, more in (("2021", 0.0), ("2022", 150.0), ("2023", -100.0)):
        kept = [{k: v for k, v in row.items() if k not in ("year", "w")} for row in rows]
        for row in kept:
            row["w_complete"] = str(float(row["w_complete"]) + more)
        files.append(written(tmp_path / f"{year}.csv", kept))
    table = read_table(files, Asked(response="w_complete", unit="g"))
    assert table.years == ("2021", "2022", "2023")
    found = analyse(table)
    assert len(found.table.y) == 192
    # narrow inference, handbook 2.3: gutter on boards with 3(r-1) = 9 df; broad: pieces against years with 6 df
    assert found.analysis.term("gutter").df_error == 9
    assert found.analysis.years is not None
    assert found.analysis.years.random_tests["pieces"].df_error == 6
    by_year = [each.where for each in found.pieces if each.where.startswith("year")]
    assert by_year == ["year 2021", "year 2022", "year 2023"]


def test_files_that_do_not_agree_are_refused_together(tmp_path: Path) -> None:
    rows = rows_of(CASE_A)
    without = [{k: v for k, v in row.items() if k != "pot"} for row in rows]
    with pytest.raises(WetfootError, match=r"other\.csv"):
        read_table([CASE_A, written(tmp_path / "other.csv", without)])


def test_a_cell_lost_everywhere_is_refused_by_its_name(tmp_path: Path) -> None:
    rows = [{**row, "w": ""} if row["pieces"] == "4" and row["pot"] == "air" else row for row in rows_of(CASE_A)]
    with pytest.raises(WetfootError, match="pieces 4, pot air"):
        analyse(read_table([written(tmp_path / "a.csv", rows)]))


def test_typed_terms_are_fitted_whatever_their_order() -> None:
    # handbook 4.2, reduced model gutter*P + pot, block fixed, board at its bound: KR gutter 30.456386 (2.958260)
    found = analyse(read_table([CASE_A], Asked(terms=("gutter", "pieces", "pieces:gutter", "pot"))))
    gutter = found.analysis.bounded_tests["gutter"]
    assert (gutter.f, gutter.df_error, gutter.p) == pytest.approx((30.456386, 2.958260, 0.0121577), rel=1e-5)
    assert "gutter:pieces" in [term.term for term in found.analysis.terms]


@pytest.mark.parametrize(
    ("asked", "named"),
    [
        (Asked(response="weigth"), "weigth"),
        (Asked(split="burst?"), "burst"),
        (Asked(unit="stone"), "stone"),
        (Asked(board_factors=("guter",)), "guter"),
        (Asked(terms=("gutter", "dome")), "dome"),
    ],
)
def test_what_is_not_there_is_named(asked: Asked, named: str) -> None:
    with pytest.raises(WetfootError, match=named):
        analyse(read_table([CASE_A], asked))


@pytest.mark.parametrize("typed", ["pot by 5 %", "pot=air", "pot=water by 5 %", "pieces=4 by 5 %", "pot=air by -5 %",
                                   "pot=air by 5 L", "dome=air by 5 %"])  # fmt: skip
def test_a_margin_that_makes_no_sense_is_refused(typed: str) -> None:
    with pytest.raises(WetfootError, match="margin"):
        analyse(read_table([CASE_A]), Wish(margins=(read_margin(typed),)))
