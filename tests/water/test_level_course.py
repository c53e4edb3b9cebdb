"""The course of levels through the day: closed forms of one vessel, and recovery after a dry spell."""

import math
from dataclasses import replace

import numpy as np
import pytest

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.bench_tree import bench_tree
from wetfoot.water.day_course import (
    Course,
    State,
    day_course,
    half_sine_share,
    march,
    peak_l_h,
    recovery,
    with_floats_stuck,
)
from wetfoot.water.lines import laminar_loss_m_per_l_h
from wetfoot.water.network import bench_levels
from wetfoot.water.tree_solver import rest
from wetfoot.water.valve import full_open_flow_l_h, proportional_band_m

# A tank so wide that it does not fall, and a line without loss: one pot behind its tube and a linear float is linear.
SEA = Supply(0.6, 1.0, 1e9, 0.2, 0.0)
ONE = BankLines(
    pots=1, set_level_m=0.05, board_height_m=0.0, lateral_bore_m=0.05, lateral_length_m=0.1, microtube_bore_m=0.0015,
    microtube_length_m=0.3, valve_seat_m=0.0032, storage_l_m=22.0, microtube_ends=0.0, sump_storage_l_m=1e-6,
)  # fmt: skip


def resistance_m_h_l(bank: BankLines) -> float:
    """Return metres of sag per litre an hour of one pot: tubes and float in series."""
    tubes = laminar_loss_m_per_l_h(0.0015, 0.3) + laminar_loss_m_per_l_h(0.05, 0.1)
    full = full_open_flow_l_h(bank.valve_seat_m, SEA.height_m - bank.set_level_m)
    return tubes + proportional_band_m(bank.valve_seat_m, 6.0) / full


def exact_depth_m(hours: np.ndarray, peak: float) -> np.ndarray:
    """Solve S dH/dt = (H0 - H)/R - q sin(w (t - 6)) from rest at 6 h, by hand (first-order linear equation)."""
    r, s, w = resistance_m_h_l(ONE), ONE.storage_l_m, math.pi / 12.0
    tau, t = r * s, np.clip(hours - 6.0, 0.0, 12.0)
    return 0.05 - r * peak / (1 + (w * tau) ** 2) * (np.sin(w * t) - w * tau * (np.cos(w * t) - np.exp(-t / tau)))


def course_of_one(step_h: float) -> Course:
    return day_course([ONE], SEA, 0.35, 0.75, step_h)


def test_one_pot_follows_the_linear_equation_with_first_order_error() -> None:
    """The error halves with the step; what two steps extrapolate to is exact to half a micrometre."""
    courses = [course_of_one(step_h) for step_h in (0.1, 0.05, 0.025)]
    errors = [course.depth_m[0][:, 0] - exact_depth_m(course.hours, 0.35) for course in courses]
    largest = [np.abs(error).max() for error in errors]
    assert largest[0] / largest[1] == pytest.approx(2.0, rel=0.05)
    assert largest[1] / largest[2] == pytest.approx(2.0, rel=0.05)
    assert largest[1] < 1e-4
    assert np.abs(2 * errors[2][::2] - errors[1]).max() < 5e-7


def test_a_steady_demand_ends_in_the_steady_levels() -> None:
    """Noon is nearly steady where pots store little: the course's lowest depth is the steady solver's."""
    bank = replace(ONE, pots=12, storage_l_m=0.01, lateral_bore_m=0.016, lateral_length_m=6.0, microtube_bore_m=0.003)
    steady = bench_levels([bank], SEA, 0.35).banks[0].depth_m
    assert day_course([bank], SEA, 0.35).depth_m[0].min(axis=0) == pytest.approx(steady, abs=2e-6)


def test_the_half_sine_is_exactly_integrated() -> None:
    """A peak of 1 from 6 to 18 h sums to 24/pi hours; the peak of a day's litres is pi/24 of them."""
    assert 24 * half_sine_share(0.0, 24.0) == pytest.approx(24 / math.pi, rel=1e-14)
    assert 12 * half_sine_share(30.0, 42.0) == pytest.approx(24 / math.pi, rel=1e-12)
    assert half_sine_share(19.0, 29.0) == pytest.approx(0.0, abs=1e-15)
    assert half_sine_share(11.99, 12.01) == pytest.approx(1.0, abs=1e-5)
    assert peak_l_h(2.4) == pytest.approx(0.1 * math.pi, rel=1e-14)


def test_what_is_drunk_is_what_was_wanted_and_what_the_tank_gave() -> None:
    course = day_course([replace(ONE, microtube_bore_m=0.003)] * 3, replace(SEA, volume_l=500.0), 0.35, 2.0)
    assert course.short_l == pytest.approx(0.0, abs=1e-9)
    assert course.drunk_l[-1] == pytest.approx(3 * 2 * 0.35 * 24 / math.pi, rel=1e-12)
    assert course.missing_l == pytest.approx(0.0, abs=1e-9)
    held_less = 3 * 22.0 * (course.depth_m[0][0, 0] - course.depth_m[0][-1, 0])
    assert course.tank_l[0] - course.tank_l[-1] + held_less == pytest.approx(course.drunk_l[-1], abs=1e-5)


def test_an_empty_pot_fills_exponentially() -> None:
    """Nine tenths after R S ln 10, where the tube and not the valve limits (first-order linear equation)."""
    bench = bench_tree([ONE], SEA)
    heads = rest(bench.tree, bench.tank_height_m)
    heads[bench.pots[0]] = 0.0
    course = march(bench, 0.0, 8.0, start=State(heads, np.zeros(len(heads))), step_h=0.002)
    reached = float(np.interp(0.045, course.depth_m[0][:, 0], course.hours))
    assert reached == pytest.approx(resistance_m_h_l(ONE) * 22.0 * math.log(10), rel=2e-3)


def test_a_dry_spell_draws_the_pots_down_by_what_they_drink() -> None:
    """24 h without supply: 0.35 x 24/pi litres out of 67 L/m are 39.9 mm; then wide-open valves fill them again."""
    bank = replace(ONE, pots=24, storage_l_m=67.0, lateral_bore_m=0.02, lateral_length_m=12.0, microtube_bore_m=0.004)
    found = recovery([bank], SEA, 0.35, 24.0, from_h=18.0)
    assert found.lowest_m[0] == pytest.approx(np.full(24, 0.05 - 0.35 * 24 / math.pi / 67.0), abs=2e-4)
    full = full_open_flow_l_h(0.0032, SEA.height_m - 0.05)
    least_h = 24 * 67.0 * (0.045 - 0.05 + 0.35 * 24 / math.pi / 67.0) / full
    assert least_h < found.slowest_h < 1.5 * least_h
    assert found.hours[0][0] <= found.hours[0][-1]


def test_pots_that_do_not_come_back_are_said_to_take_for_ever() -> None:
    found = recovery([replace(ONE, storage_l_m=67.0, microtube_bore_m=0.0005)], SEA, 0.35, 24.0, within_h=5.0)
    assert math.isinf(found.slowest_h)
    with pytest.raises(ValueError, match="opening"):
        with_floats_stuck(bench_tree([ONE], SEA), 1.5)
    with pytest.raises(ValueError, match="step_h"):
        day_course([ONE], SEA, 0.35, step_h=0.0)
