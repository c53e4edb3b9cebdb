"""From findings to advice: worth of each number of pieces by hand, the rule by money, what goes back into the plan.

Worked partial budget: agronomy handbook 5.4, V = 23 L (method CIMMYT 1988; Perrin et al. 1976), without its 0.10 $ of
handling a piece, which a plan does not hold.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from wetfoot.answers.trial_advice import change_words
from wetfoot.answers.trial_choices import Choice, Choices, Worth, option, worth_of
from wetfoot.answers.trial_demo import YEARS, demo_layout, true_mean_g, write_demo_trial
from wetfoot.answers.trial_recommendation import Suggestion, by_money
from wetfoot.answers.trial_report import Report, season_around, trial_report
from wetfoot.crop.yields import expected_yield_kg
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text, new_folder
from wetfoot.plan.file import plan_from_text
from wetfoot.stock.money import partial_budget
from wetfoot.trial.designs import differences
from wetfoot.trial.layout_file import read_layout

CASE_A = Path(__file__).parents[1] / "trial" / "data" / "trial_case_A.csv"
# handbook 5.2, 5.4: seed .05/.9 kg a piece at 22 $/kg, kept .7225, yields times 0.9 from station to farm
WORTH = Worth(piece_kg=0.05, cutting=0.1, kept=0.7225 * 0.9, price=22.0, pot_cost=18.73, medium_l=23.0, ground_m2=0.5,
              currency="USD", told="by hand")  # fmt: skip


def choice(pieces: int, split: float = float("nan")) -> Choice:
    grams = 1000.0 * expected_yield_kg(pieces, 23.0)
    net = WORTH.kept * grams / 1000.0 - pieces * WORTH.seed_kg
    return Choice(pieces, grams, 100.0, net, 0.07, 22.0 * net - 18.73, 1.6, split)


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Report]:
    folder = tmp_path_factory.mktemp("trial") / "season"
    new_folder(folder)
    write_demo_trial(folder)
    tables = [folder / "trial" / f"{year}.csv" for year in YEARS]
    return folder, trial_report(tables, margins=("dome=yes by 5 %",))


def test_the_partial_budget_is_the_handbooks() -> None:
    steps = {step.option.name: step for step in partial_budget([option(choice(n), WORTH) for n in range(1, 7)])}
    piece = 22.0 * 0.05 / 0.9
    # 5.4: what a step brings in is MRR x 1.3222 + 1.3222; less the seed alone, over the seed alone
    for name, mrr in (("3", 3.418), ("4", 1.524), ("5", 0.634), ("6", 0.143)):
        gross = 1.3222 * (1.0 + mrr)
        assert steps[name].marginal_return == pytest.approx((gross - piece) / piece, abs=2e-3)


def test_money_stops_where_a_step_no_longer_pays_twice() -> None:
    assert by_money([choice(n) for n in range(1, 7)], WORTH) == 4  # handbook 5.4: recommendation 4 at 100 %


def test_split_pots_cost_their_vessels() -> None:
    dear = replace(WORTH, split_cost=14.0)
    split = {1: 0.0, 2: 0.0, 3: 0.02, 4: 0.25}
    assert by_money([choice(n, split[n]) for n in split], WORTH) == 4
    assert by_money([choice(n, split[n]) for n in split], dear) == 3


def test_when_seed_is_dear_is_said_with_the_handbooks_threshold(demo: tuple[Path, Report]) -> None:
    # 5.4: drops to 3 once a piece is worth more than 3.338/2 - 0.10 $; without handling 3.338/2 = 1.67 $
    choices = Choices(tuple(choice(n) for n in range(1, 6)), 2.0, np.zeros((1, 5)), np.zeros((1, 5)), True, WORTH)
    told = change_words(choices, choices.at(4), demo[1].findings, "metric")
    assert "Plant 3 once a seed piece is worth more than 1.67 USD" in told


def test_best_depends_on_what_is_short() -> None:
    choices = Choices(tuple(choice(n) for n in range(1, 5)), 2.0, np.zeros((1, 4)), np.zeros((1, 4)), True, WORTH)
    assert choices.best_by("pot").pieces == 4
    assert choices.best_by("piece").pieces == 1  # handbook 8: multiplication always falls with pieces
    assert choices.best_by("money").pieces == 4


def test_worth_is_that_of_the_plan() -> None:
    worth = worth_of(plan_from_text(example_text()))
    assert worth.kept == pytest.approx(0.9 * 0.85 * 0.80)  # station to farm 0.9: handbook, agronomy 5.4
    assert worth.seed_kg == pytest.approx(0.05 / 0.95)
    assert worth.seed_g_harvest == pytest.approx(1000 * 0.05 / 0.95 / (0.9 * 0.68))
    assert worth.split_cost == 14.0
    assert worth.ground_m2 == pytest.approx(0.5)


def test_the_demo_recovers_the_truth_it_was_drawn_from(demo: tuple[Path, Report]) -> None:
    found = demo[1].findings
    curve = found.curve
    assert curve is not None
    truth = [true_mean_g(("no", p, "no")) for p in ("1", "2", "3", "4")]
    # 95 % intervals of three steps and of the gutter: each holds the truth, but for 60 g by which years shift
    for step, true in zip(curve.step, np.diff(truth), strict=True):
        assert step[1] - 60 < true < step[2] + 60
    gutter = found.pairs["gutter"]
    assert -gutter.high[0] < true_mean_g(("yes", "1", "no")) - true_mean_g(("no", "1", "no")) < -gutter.low[0]
    assert found.splits is not None
    assert found.splits.low[3] < 0.25 < found.splits.high[3]


def test_the_demo_ends_in_advice_to_act_on(demo: tuple[Path, Report]) -> None:
    advice = demo[1].recommendation
    assert advice is not None
    assert advice.pieces == 3
    assert advice.depends
    lines = dict(advice.lines)
    assert "3 years (2023, 2024, 2025)" in lines["What was found"]
    assert "25 % of the pots split" in lines["What was found"]
    assert "If clean seed is short, 1 piece leaves the most" in lines["What is short decides"]
    assert "agreed" in lines["Dome"]
    assert "years like these" in lines["How sure"]
    assert "stolen 2" in lines["How sure"]
    assert "more than 4 pieces" in lines["Not tested"]


def test_net_and_margin_by_hand(demo: tuple[Path, Report]) -> None:
    advice = demo[1].recommendation
    assert advice is not None
    worth = advice.choices.worth
    three = advice.choices.at(3)
    assert three.net_kg == pytest.approx(0.9 * 0.68 * three.harvest_g / 1000.0 - 3 * 0.05 / 0.95)
    assert three.margin == pytest.approx(22.0 * three.net_kg - (worth.pot_cost or 0.0) - 14.0 * three.split)
    seed, money = advice.tables("metric")
    row = dict(zip(seed.heads, seed.rows[2], strict=True))
    assert row["a piece"] == pytest.approx(three.net_kg / 3)
    assert row["a m²"] == pytest.approx(three.net_kg / 0.5)
    assert row["a L"] == pytest.approx(three.net_kg / (worth.medium_l or 0.0))
    assert dict(zip(money.heads, money.rows[2], strict=True))["a pot"] == pytest.approx(three.margin)
    us = advice.tables("US")[0]
    assert us.rows[2][1] == pytest.approx(three.net_kg / 0.45359237)  # NIST: pound


def test_the_suggestion_goes_into_the_plan_and_leaves_all_else(demo: tuple[Path, Report]) -> None:
    advice = demo[1].recommendation
    assert advice is not None
    assert advice.suggestion is not None
    text = advice.suggestion.changed(example_text())
    plan = plan_from_text(text)
    assert plan.crop.pieces_per_pot == 3
    assert plan.crop.yield_factor == pytest.approx(advice.suggestion.yield_factor, abs=1e-3)
    assert plan.goal.pot_spread == pytest.approx(advice.suggestion.pot_spread, abs=0.006)
    assert "# your yields over the published pot's" in text
    assert advice.suggestion.low < advice.suggestion.yield_factor < advice.suggestion.high
    # the plan then expects what the trial harvested
    worth = advice.choices.worth
    expected = plan.crop.yield_factor * expected_yield_kg(3, worth.medium_l or 0.0)
    assert expected == pytest.approx(advice.choices.at(3).harvest_g / 1000.0, rel=1e-3)


def test_a_plan_without_the_keys_gets_them() -> None:
    text = example_text()
    short = "\n".join(line for line in text.splitlines() if not line.startswith(("yield_factor", "pot_spread")))
    plan = plan_from_text(Suggestion(2, 0.9, 0.8, 1.0, 0.12, "").changed(short))
    assert (plan.crop.pieces_per_pot, plan.crop.yield_factor, plan.goal.pot_spread) == (2, 0.9, 0.12)


def test_without_a_season_seed_is_counted_and_no_money_said() -> None:
    advice = trial_report([CASE_A], piece="60 g").recommendation
    assert advice is not None
    assert advice.suggestion is None
    assert advice.choices.choices[0].margin is None
    assert advice.pieces == 4
    assert "no prices" in dict(advice.lines)["What to expect"]
    assert "One season is not several" in dict(advice.lines)["How sure"]


def test_the_season_around_a_trial_is_found(demo: tuple[Path, Report]) -> None:
    assert season_around([demo[0] / "trial" / "2023.csv"]) == demo[0]
    assert season_around([CASE_A]) is None


def test_demo_tables_say_that_they_are_invented_and_are_drawn_again(tmp_path: Path, demo: tuple[Path, Report]) -> None:
    first, again = demo[0] / "trial", tmp_path / "trial"
    for path in write_demo_trial(tmp_path):
        assert path.read_bytes() == (first / path.name).read_bytes()
    for year in YEARS:
        text = (again / f"{year}.csv").read_text("utf-8-sig")
        assert text.count("invented") == 64
        layout = read_layout(again / f"layout-{year}.csv")
        assert layout == demo_layout(year)
        assert differences(layout) == []


def test_the_demo_is_clean_when_read_against_its_layout(demo: tuple[Path, Report]) -> None:
    home = demo[0] / "trial"
    found = trial_report([home / "2023.csv"], layout=home / "layout-2023.csv").findings
    assert [doubt.what for _, doubt in found.table.doubts if "layout" in doubt.what] == []
    assert len(found.table.y) == 64


@pytest.mark.parametrize("piece", ["50", "0 g", "50 L", "3 kg"])
def test_a_piece_without_a_mass_is_refused(piece: str) -> None:
    with pytest.raises(WetfootError, match="piece"):
        trial_report([CASE_A], piece=piece)
