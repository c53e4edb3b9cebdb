"""What to pour today: the dose meets the target, fits the tank, and every slip of hand or meter is told."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.answers.dose import dose
from wetfoot.errors import WetfootError
from wetfoot.plan.example import example_text
from wetfoot.plan.feeds import feeds_of
from wetfoot.plan.file import plan_from_text
from wetfoot.solution.conductivity import ec_ms_cm
from wetfoot.solution.dose import composition_at_ec
from wetfoot.solution.salts import mix

PLAN = plan_from_text(example_text())
FULL = PLAN.tank.volume_l


@settings(deadline=None, max_examples=40)
@given(st.floats(0.0, FULL), st.floats(0.0, 5.0), st.floats(0.0, 1.0), st.floats(0.3, 3.0))
def test_what_is_poured_brings_the_tank_to_its_target_and_fits(
    tank_l: float, measured: float, fill: float, target: float
) -> None:
    if tank_l + fill * (FULL - tank_l) < 1.0:
        return
    found = dose(PLAN, tank_l, measured, added_l=fill * (FULL - tank_l), target_ms_cm=target)
    # poured again by hand, from the litres that were told
    feeds = feeds_of(PLAN.solution)
    present = composition_at_ec(measured, feeds.stock_a, feeds.stock_b, feeds.source)
    start = mix([(tank_l, present), (fill * (FULL - tank_l), feeds.source)])
    if found.drained_l or (found.water_l and not found.stock_l):
        litres = tank_l + fill * (FULL - tank_l) - found.drained_l
        end = mix([(litres, start), (found.water_l, feeds.source)])
        assert litres + found.water_l <= FULL * 1.001
    elif found.stock_l:
        parts = [(tank_l, present), (found.water_l, feeds.source)]
        end = mix([*parts, (found.stock_l, feeds.stock_a), (found.stock_l, feeds.stock_b)])
    else:
        end = start
        assert ec_ms_cm(end) == pytest.approx(target, rel=0.021)
        return
    assert ec_ms_cm(end) == pytest.approx(target, rel=1e-3)  # the 0.1 %


def test_filling_leaves_room_for_the_stocks() -> None:
    found = dose(PLAN, 400.0, 1.6, added_l=600.0)
    assert found.water_l + 400.0 + 2.0 * found.stock_l == pytest.approx(FULL, abs=0.01)


def test_one_stock_alone_shows_between_before_and_after() -> None:
    numbers = {number.name: number.value for number in dose(PLAN, 900.0, 1.0).answer.numbers}
    for alone in ("EC if only A went in", "EC if only B went in"):
        assert numbers["EC before the stocks"] < numbers[alone] < numbers["EC after"]


def test_a_tank_that_is_too_strong_loses_what_the_books_of_water_and_salt_say() -> None:
    found = dose(PLAN, 1000.0, 2.6)
    assert found.drained_l == pytest.approx(found.water_l)  # a full tank: as much out as in
    thrown = {n.name: n.value for n in found.answer.numbers if "thrown" in n.name}
    # nitrogen is conserved: what was in the tank is either thrown away, or still there less what the water brought
    n_before = dose(PLAN, 1000.0, 2.6, target_ms_cm=2.6).elements_mg_l["N"]
    assert thrown["N thrown away"] == pytest.approx(found.drained_l * n_before / 1e6, rel=1e-6)
    assert found.answer.warnings


def test_an_uncompensated_reading_is_brought_to_25_degrees() -> None:
    # Standard Methods 2510 B: 1.91 % a degree
    warm = dose(PLAN, 900.0, 1.0 * (1 + 0.0191 * 6), temperature_c=31.0)
    assert warm.stock_l == pytest.approx(dose(PLAN, 900.0, 1.0).stock_l, rel=1e-9)


@pytest.mark.parametrize(
    ("words", "where", "told"),
    [
        ({"tank_l": 1200.0, "measured_ms_cm": 1.0}, "--tank", "cannot be in the tank"),
        ({"tank_l": -1.0, "measured_ms_cm": 1.0}, "--tank", "cannot be in the tank"),
        ({"tank_l": 900.0, "measured_ms_cm": 1200.0}, "--ec", "not the EC"),
        ({"tank_l": 900.0, "measured_ms_cm": -1.0}, "--ec", "not the EC"),
        ({"tank_l": 900.0, "measured_ms_cm": 1.0, "added_l": 300.0}, "--add", "do not fit"),
        ({"tank_l": 900.0, "measured_ms_cm": 1.0, "target_ms_cm": 0.2}, "--target", "not above the source"),
        ({"tank_l": 900.0, "measured_ms_cm": 1.0, "temperature_c": 90.0}, "--temperature", "90"),
        ({"tank_l": 0.0, "measured_ms_cm": 1.0}, "--tank", "empty"),
    ],
)
def test_what_cannot_be_is_refused_by_name(words: dict[str, float], where: str, told: str) -> None:
    with pytest.raises(WetfootError) as refused:
        dose(PLAN, **words)
    assert refused.value.problems[0].where == where
    assert told in refused.value.problems[0].what
    assert refused.value.problems[0].fix
