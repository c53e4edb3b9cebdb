"""Draining and filling a tank: Torricelli's closed form, figures of our handbook, and limits with a line."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

from wetfoot.water.lines import laminar_loss_m_per_l_h, pipe_loss_m
from wetfoot.water.tank import drain_h, drain_through_line_h, fill_h, head_after_m, refill_h, shortest_stay_h
from wetfoot.water.valve import full_open_flow_l_h

# name, seat, hours: handbook on hydraulics, computed apart from this program; Cd 0.6, head kept at 0.6 m.
LASTS = [("3.2 mm", 0.0032, 17.0, 0.5), ("12.7 mm", 0.0127, 64 / 60, 0.01)]


@pytest.mark.parametrize(("name", "seat_m", "hours", "within_h"), LASTS)
def test_a_thousand_litres_behind_a_seat(name: str, seat_m: float, hours: float, within_h: float) -> None:
    assert shortest_stay_h(1000.0, seat_m, 0.6) == pytest.approx(hours, abs=within_h)


def test_a_cylinder_drains_by_torricelli() -> None:
    """t = A/a sqrt(2 h/g)/Cd, the textbook's form: 1 m2 and 1 m through 20 mm, Cd 0.6, by hand 0.6655 h."""
    by_hand = (1.0 / (math.pi * 0.01**2)) * math.sqrt(2.0 / 9.80665) / 0.6 / 3600.0
    assert by_hand == pytest.approx(0.6655, abs=1e-4)
    assert drain_h(1.0, 0.02, 1.0) == pytest.approx(by_hand, rel=1e-13)


@given(st.floats(0.1, 3.0), st.floats(0.002, 0.05), st.floats(0.05, 2.0), st.floats(0.0, 1.0))
def test_draining_in_two_parts_takes_as_long(area: float, hole: float, head: float, share: float) -> None:
    middle = share * head
    parts = drain_h(area, hole, head, middle) + drain_h(area, hole, middle)
    assert parts == pytest.approx(drain_h(area, hole, head), rel=1e-12)
    assert head_after_m(area, hole, head, drain_h(area, hole, head, middle)) == pytest.approx(middle, abs=1e-9)


def test_an_empty_tank_stays_empty() -> None:
    assert head_after_m(1.0, 0.02, 1.0, 5.0) == 0.0


def test_a_short_wide_line_changes_nothing() -> None:
    free = drain_h(1.0, 0.004, 1.0, 0.1)
    assert drain_through_line_h(1.0, 0.004, 0.1, 0.0, 1.0, 0.1) == free
    assert drain_through_line_h(1.0, 0.004, 0.1, 0.01, 1.0, 0.1) == pytest.approx(free, rel=1e-6)


def test_a_laminar_line_drains_exponentially() -> None:
    """h = R Q without an end loss: t = A R ln(h1/h2); with the hole's h = (Q/c)^2 added, 2 A (Q1 - Q2)/c^2 more."""
    r = laminar_loss_m_per_l_h(0.003, 5.0)
    c = full_open_flow_l_h(0.003, 1.0)
    flow = [(-r + math.sqrt(r * r + 4 * h / c**2)) / 2 * c**2 for h in (1.0, 0.2)]
    by_hand = 1000.0 * (r * math.log(flow[0] / flow[1]) + 2 * (flow[0] - flow[1]) / c**2)
    assert drain_through_line_h(1.0, 0.003, 0.003, 5.0, 1.0, 0.2) == pytest.approx(by_hand, rel=1e-9)


def test_a_turbulent_line_agrees_with_a_stepwise_solution() -> None:
    """dh/dt = -Q(h)/A by scipy's Runge-Kutta, Q(h) by bracketing; through the change to laminar flow."""
    c = full_open_flow_l_h(0.02, 1.0)

    def flow(head: float) -> float:
        return float(brentq(lambda q: (q / c) ** 2 + pipe_loss_m(q, 0.019, 8.0) - head, 0.0, c * math.sqrt(head)))

    hours = drain_through_line_h(1.0, 0.02, 0.019, 8.0, 1.0, 0.005)
    end = solve_ivp(lambda _, h: [-flow(h[0]) / 1000.0], (0, hours), [1.0], rtol=1e-9, atol=1e-12).y[0, -1]
    assert end == pytest.approx(0.005, rel=2e-4)
    assert hours > drain_h(1.0, 0.02, 1.0, 0.005)


def test_the_last_of_it_never_comes_through_a_line() -> None:
    assert math.isinf(drain_through_line_h(1.0, 0.02, 0.019, 8.0, 1.0, 0.0))


def test_filling_from_below_is_draining_the_head() -> None:
    assert refill_h(1.0, 0.01, 0.02, 0.0, 1.5, 0.0, 1.0) == pytest.approx(drain_h(1.0, 0.01, 1.5, 0.5), rel=1e-14)
    assert refill_h(1.0, 0.01, 0.02, 30.0, 1.5, 0.0, 1.0) > refill_h(1.0, 0.01, 0.02, 0.0, 1.5, 0.0, 1.0)


def test_a_hose_fills_against_the_draw() -> None:
    assert fill_h(1000.0, 600.0) == pytest.approx(5 / 3)
    assert fill_h(1000.0, 600.0, 100.0) == pytest.approx(2.0)
    assert math.isinf(fill_h(1000.0, 50.0, 100.0))


@pytest.mark.parametrize(
    ("call", "named"),
    [
        (lambda: drain_h(0.0, 0.01, 1.0), "area_m2"),
        (lambda: drain_h(1.0, 0.0, 1.0), "hole_m"),
        (lambda: drain_h(1.0, 0.01, 0.5, 0.6), "to_m"),
        (lambda: drain_h(1.0, 0.01, np.nan), "to_m"),
        (lambda: head_after_m(1.0, 0.01, 1.0, -1.0), "hours"),
        (lambda: drain_through_line_h(1.0, 0.01, 0.0, 1.0, 1.0, 0.1), "bore_m"),
        (lambda: refill_h(1.0, 0.01, 0.02, 1.0, 0.5, 0.0, 1.0), "source_m"),
        (lambda: fill_h(-1.0, 1.0), "litres"),
    ],
)
def test_what_cannot_be_is_refused_by_name(call, named: str) -> None:  # type: ignore[no-untyped-def]
    with pytest.raises(ValueError, match=named):
        call()
