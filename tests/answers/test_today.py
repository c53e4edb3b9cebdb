"""What to do at a visit: from planting to harvest, with an empty book, a full one, and one that signals."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import pytest
from book_made_up import NOW, on_day, reading, tank_rows, write

from wetfoot.answers.calendar import Entry, calendar
from wetfoot.answers.dose import dose
from wetfoot.answers.solution import mix
from wetfoot.answers.today import Today, today, visit_after
from wetfoot.plan.model import Plan
from wetfoot.season.ensemble import Ensemble, run_ensemble
from wetfoot.season.expected_draw import ExpectedDraw, expected_draw
from wetfoot.season.learn import prior
from wetfoot.season.next_visit import chance_empty, days_within_risk
from wetfoot.weather.read import read_weather
from wetfoot.weather.seasons import Seasons, seasons

Ask = Callable[..., Today]


@pytest.fixture(scope="module")
def laid(example_plan: Plan) -> Seasons:
    """A typical year of Greensboro, NC (TMY3), carried by the package pvlib."""
    from importlib.resources import as_file, files

    with as_file(files("pvlib").joinpath("data/723170TYA.CSV")) as path:
        weather = read_weather(path)
    site, crop = example_plan.site, example_plan.crop
    return seasons(weather, crop.planting, crop.season_d, site.latitude_deg, site.elevation_m)


@pytest.fixture(scope="module")
def ensemble(example_plan: Plan, laid: Seasons) -> Ensemble:
    return run_ensemble(example_plan, laid, runs=20, seed=1)


@pytest.fixture(scope="module")
def expected(example_plan: Plan, laid: Seasons) -> ExpectedDraw:
    return expected_draw(example_plan, laid)


@pytest.fixture(scope="module")
def entries(example_plan: Plan, ensemble: Ensemble) -> tuple[Entry, ...]:
    return calendar(example_plan, ensemble, mix(example_plan, ensemble))


@pytest.fixture
def ask(example_plan: Plan, laid: Seasons, ensemble: Ensemble, entries: tuple[Entry, ...], tmp_path: Path) -> Ask:
    def _ask(day: int, plan: Plan = example_plan) -> Today:
        return today(plan, tmp_path, on_day(example_plan, day), laid, ensemble, entries)

    return _ask


def test_planting_day_fills_the_tank_to_its_target(example_plan: Plan, ask: Ask) -> None:
    found = ask(0)
    assert found.fill_l == example_plan.tank.volume_l
    assert found.dose is not None
    assert found.dose.after_ms_cm == pytest.approx(example_plan.solution.target_ec_ms_cm, rel=0.01)
    assert found.dose.water_l + 2.0 * found.dose.stock_l == pytest.approx(example_plan.tank.volume_l, rel=0.001)
    assert [entry.title for entry in found.due] == ["Plant"]
    assert found.alerts == ()


def test_before_planting_the_seed_is_due_and_nothing_is_poured(ask: Ask) -> None:
    found = ask(-8)
    assert found.dose is None
    assert [entry.title for entry in found.due] == ["Cut and cure seed"]
    assert found.next_visit == found.plan.crop.planting


def test_an_empty_book_still_gives_a_visit(example_plan: Plan, ask: Ask) -> None:
    found = ask(133)
    assert not found.tank.read
    assert any("not read for" in alert for alert in found.alerts)
    assert {look.bank for look in found.looks} == {bank.name for bank in example_plan.banks}
    assert found.next_visit == found.on + timedelta(days=example_plan.visits.every_d)


def test_the_days_readings_decide_what_is_poured(example_plan: Plan, ask: Ask, tmp_path: Path) -> None:
    write(
        tmp_path,
        reading(example_plan, 133, "tank_volume", "tank", 620.0),
        reading(example_plan, 133, "ec", "tank", 1.6),
    )
    found = ask(133)
    assert found.tank.read
    assert found.fill_l == 380.0
    assert found.dose is not None
    assert found.dose.stock_l == dose(example_plan, 620.0, 1.6, None, 380.0).stock_l
    # a day later nothing is left to pour, as reckoned from the reading of a tank that was not filled
    assert ask(134).tank.litres < 620.0


def test_an_uncompensated_meter_is_brought_to_25_c(example_plan: Plan, ask: Ask, tmp_path: Path) -> None:
    write(
        tmp_path,
        reading(example_plan, 133, "tank_volume", "tank", 620.0),
        replace(reading(example_plan, 133, "ec", "tank", 1.6), compensated=False, temperature_c=15.0),
    )
    found = ask(133).dose
    assert found is not None
    assert found.stock_l == dose(example_plan, 620.0, 1.6, 15.0, 380.0).stock_l


def test_a_tank_that_cannot_be_is_an_alert_not_a_crash(example_plan: Plan, ask: Ask, tmp_path: Path) -> None:
    write(
        tmp_path,
        reading(example_plan, 133, "tank_volume", "tank", 2000.0),
        reading(example_plan, 133, "ec", "tank", 30.0, hour=9),
    )
    found = ask(133)
    assert any("not used" in alert for alert in found.alerts)
    assert not found.tank.read


def test_banks_and_pots_that_are_off_are_named_with_the_reason(example_plan: Plan, ask: Ask, tmp_path: Path) -> None:
    east, middle, west, south = (bank.name for bank in example_plan.banks)
    write(
        tmp_path,
        reading(example_plan, 133, "level", east, 0.035, pot=7),
        reading(example_plan, 133, "level", middle, 0.065),
        reading(example_plan, 133, "ec", middle, 1.1),
        reading(example_plan, 133, "level", west, 0.050),
        reading(example_plan, 133, "ec", west, 2.6),
        reading(example_plan, 110, "level", south, 0.020),
    )
    found = {(look.bank, look.pot): look.why for look in ask(133).looks if "lowest" not in look.why}
    assert "level low" in found[east, 7]
    assert "rained out" in found[middle, None]
    assert "of each stock into every pot" in found[middle, None]
    assert "EC above the band" in found[west, None]
    assert "no level read" in found[south, None]  # the old reading says nothing of today
    lowest = [look.bank for look in ask(133).looks if "lowest" in look.why]
    assert lowest == [east]


def test_a_leak_alerts_and_shortens_how_long_the_tank_holds(
    example_plan: Plan,
    ask: Ask,
    expected: ExpectedDraw,
    tmp_path: Path,
) -> None:
    quiet = ask(164)
    write(tmp_path, *tank_rows(example_plan, expected, range(3, 171, 7), 1.0, 100.0, 150))
    found = ask(164)
    assert any("Likely a leak" in alert for alert in found.alerts)
    assert found.learned.leak is not None
    assert found.latest < quiet.latest
    assert found.empty_chance > quiet.empty_chance


def test_the_next_visit_is_the_regular_one_or_earlier_for_the_tanks_sake(example_plan: Plan) -> None:
    on, every = on_day(example_plan, 100), example_plan.visits.every_d
    assert visit_after(example_plan, on, on + timedelta(days=50)) == on + timedelta(days=every)
    assert visit_after(example_plan, on, on + timedelta(days=3)) == on + timedelta(days=3)
    assert visit_after(example_plan, on, on) == on + timedelta(days=1)
    harvest = example_plan.crop.harvest
    assert visit_after(example_plan, harvest - timedelta(days=2), harvest) == harvest


def test_after_the_tops_are_cut_nothing_is_poured(example_plan: Plan, ask: Ask) -> None:
    found = ask(example_plan.crop.tops_cut_d + 2)
    assert (found.fill_l, found.dose) == (0.0, None)
    assert "supply is shut" in found.visit.words
    assert "season is over" in ask(example_plan.crop.season_d).visit.words


def test_it_is_told_in_the_plans_units_and_to_machines(example_plan: Plan, ask: Ask) -> None:
    american = example_plan.model_copy(update={"units": "US"})
    words = " ".join(ask(0, american).lines())
    assert "264 gal" in words or "260 gal" in words
    assert " L " not in words
    record = json.loads(json.dumps(ask(0).record()))
    assert record["answer"]["fill_l"] == 1000.0
    assert set(record) == {"answer", "units", "trace", "warnings"}


def test_what_was_written_later_does_not_count(example_plan: Plan, ask: Ask, tmp_path: Path) -> None:
    before = ask(100).lines()
    write(tmp_path, reading(example_plan, 101, "tank_volume", "tank", 300.0))
    assert ask(100).lines() == before


def test_the_chance_of_an_empty_tank_by_simulation(expected: ExpectedDraw) -> None:
    # the same question by drawing: multiplier from the prior, one of the years, days that err by themselves
    random, usable, start, days = np.random.default_rng(1), 450.0, 150, 14
    factor = np.exp(random.normal(0.0, 0.2, 20_000))
    year = random.integers(expected.drawn_l.shape[1], size=20_000)
    by_year = expected.drawn_l[:, :, start : start + days].sum(axis=2)
    error = (random.normal(0.0, 0.15, (20_000, days)) * expected.demand_l[start : start + days]).sum(axis=1)
    crop = [np.interp(f, expected.factors, by_year[:, y]) for f, y in zip(factor, year, strict=True)]
    drawn = np.array(crop) + factor * error + 5.0 * days
    chance = chance_empty(expected, prior(0.2), usable, float(start), float(start + days), 5.0)
    assert chance == pytest.approx(float((drawn > usable).mean()), abs=0.015)


def test_days_within_risk_end_where_the_chance_passes_what_is_accepted(expected: ExpectedDraw) -> None:
    known = prior(0.2)
    days = days_within_risk(expected, known, 400.0, 150.0, 0.05)
    assert chance_empty(expected, known, 400.0, 150.0, 150.0 + days) <= 0.05
    assert chance_empty(expected, known, 400.0, 150.0, 151.0 + days) > 0.05
    assert days_within_risk(expected, known, 400.0, 150.0, 0.5) > days
    with pytest.raises(ValueError, match="accepted"):
        days_within_risk(expected, known, 400.0, 150.0, 0.0)


def test_now_of_these_tests_lies_after_the_season(example_plan: Plan) -> None:
    assert example_plan.crop.harvest < NOW.date() < date(2100, 1, 1)
