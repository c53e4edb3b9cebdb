"""What breaks and what it costs: Torricelli behind the valve, which pots go dry, and what each safeguard saves."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.leaks import Fault, leak_course, safeguards
from wetfoot.water.lines import laminar_loss_m_per_l_h
from wetfoot.water.tank import drain_h, shortest_stay_h
from wetfoot.water.valve import full_open_flow_l_h

SUPPLY = Supply(0.55, 1.0, 1000.0, 0.03, 2.0)
BANK = BankLines(
    pots=12, set_level_m=0.05, board_height_m=0.0, lateral_bore_m=0.02, lateral_length_m=6.0, microtube_bore_m=0.004,
    microtube_length_m=0.3, valve_seat_m=0.0032, storage_l_m=60.0, overflow_height_m=0.07,
)  # fmt: skip


def test_a_float_stuck_open_empties_the_tank_as_torricelli_says() -> None:
    """A cylinder of 1 m2 over a hole of 3.2 mm, Cd 0.6, head counted from the water over the sump's overflow."""
    spilling = replace(BANK, overflow_at="sump", overflow_width_m=0.2)  # 2 mm of head on its edge
    course = leak_course([spilling], SUPPLY, 0.0, Fault("float open"), 40.0)
    by_hand = drain_h(1.0, 0.0032, 1.478, 0.478)
    assert course.empty_h == pytest.approx(by_hand, abs=0.06)
    assert course.lost_l[-1] == pytest.approx(1000.0 - (12 * 60 + 20) * 0.02, abs=0.5)  # the pots rise by 2 cm first


@pytest.mark.parametrize("seat_m", [0.0032, 0.0127])
def test_a_thousand_litres_behind_a_seat_last_longer_than_at_full_head(seat_m: float) -> None:
    """Head from 0.6 to 0.5 m over the seat, less 2.2 cm that stand over it; longer than the handbook's 0.6 m kept."""
    shallow = Supply(0.55, 0.1, 1000.0, 0.1, 0.1)
    bank = replace(BANK, valve_seat_m=seat_m, overflow_at="sump", overflow_width_m=1.0, storage_l_m=1.0)
    course = leak_course([bank], shallow, 0.0, Fault("float open"), 20.0, step_h=0.005)
    assert course.empty_h > shortest_stay_h(1000.0, seat_m, 0.6)
    assert course.empty_h == pytest.approx(drain_h(10.0, seat_m, 0.578, 0.478), rel=0.006)


def test_a_split_pot_runs_at_what_its_microtube_lets_through() -> None:
    """A hole much wider than the tube: flow = head over laminar resistance, kinetic loss at the ends added, by hand."""
    bank = replace(BANK, pots=1, lateral_bore_m=0.05, lateral_length_m=0.1, microtube_bore_m=0.003)
    course = leak_course([bank], SUPPLY, 0.0, Fault("pot split", hole_m=0.05), 24.0)
    late = course.hours > 4.0
    rate = np.polyfit(course.hours[late], course.lost_l[late], 1)[0]
    r = laminar_loss_m_per_l_h(0.003, 0.3) + laminar_loss_m_per_l_h(0.05, 0.1)
    ends = 2.3 / (2 * 9.80665) / (math.pi * 0.0015**2 * 3.6e6) ** 2
    band = 6 * 0.0032 / 4 / full_open_flow_l_h(0.0032, 1.45)
    by_hand = (-(r + band) + math.sqrt((r + band) ** 2 + 4 * ends * 0.05)) / (2 * ends)
    assert rate == pytest.approx(by_hand, rel=0.02)
    assert course.first_dry is not None
    assert course.first_dry.pot == 0


def test_the_broken_pot_goes_dry_first_and_the_others_hold_until_the_tank_is_empty() -> None:
    course = leak_course([BANK] * 2, SUPPLY, 0.35, Fault("pot split", bank=1, pot=7, hole_m=0.02), 120.0, step_h=0.1)
    assert course.first_dry is not None
    assert course.first_dry[:2] == (1, 7)
    assert course.first_dry.hours < 1.0
    others = np.concatenate([course.dry_h[0], np.delete(course.dry_h[1], 7)])
    assert others.min() > course.empty_h


def test_a_microtube_that_came_out_loses_its_pot_and_runs_on() -> None:
    whole = leak_course([BANK], SUPPLY, 0.0, Fault("microtube out", pot=3, hole_m=0.006), 10.0)
    assert whole.dry_h[0][3] < 1.0
    assert np.isinf(np.delete(whole.dry_h[0], 3)).all()
    # a free end above the level loses the pot's own water only
    high = leak_course([BANK], SUPPLY, 0.0, Fault("microtube out", pot=3, hole_m=0.006, height_m=0.1), 10.0)
    assert high.lost_l[-1] == pytest.approx(60.0 * 0.05, abs=0.05)
    assert whole.lost_l[-1] > 10 * high.lost_l[-1]


def test_a_float_stuck_shut_loses_nothing_and_the_bank_runs_dry() -> None:
    """Half-sine from 6 h: dry when 0.35 x 12/pi (1 - cos(pi t/12)) litres a day reach 45 mm of pot and sump."""
    course = leak_course([BANK] * 2, SUPPLY, 0.35, Fault("float shut", bank=1), 72.0, start_h=6.0)
    assert course.lost_l[-1] == 0.0
    assert math.isinf(course.empty_h)
    assert np.isinf(course.dry_h[0]).all()
    store, half_day = 0.045 * (60.0 + 20.0 / 12), 0.35 * 12 / math.pi
    by_hand = 24.0 + 12 / math.pi * math.acos(1.0 - (store - 2 * half_day) / half_day)
    assert course.dry_h[1] == pytest.approx(np.full(12, by_hand), abs=0.01)


def test_each_safeguard_saves_water_in_time() -> None:
    """Two hours after a float sticks; half the tank is half the loss, a quarter of the seat a sixteenth of the flow."""
    wide = replace(BANK, valve_seat_m=0.0128)
    fault = Fault("float open", bank=2)
    found = {g.what: g.course for g in safeguards([wide] * 4, SUPPLY, 0.35, fault, 2.0, 0.0032, 0.25, 5.0)}
    lost = {what: course.lost_l[-1] for what, course in found.items()}
    fill_l = (12 * 60 + 20) * 0.02  # what the bank takes up before it runs over
    assert lost["as it is"] == pytest.approx(1000.0 - fill_l, abs=1.0)
    assert lost["tank split in two, half of the banks on each"] == pytest.approx(500.0 - fill_l, abs=1.0)
    most_l_h = full_open_flow_l_h(0.0032, 1.5)
    assert 0.8 * (2 * most_l_h - fill_l) < lost["valve seats of 3.2 mm"] < 2 * most_l_h - fill_l
    assert lost["bank shut off after 0.25 h"] < 0.25 * full_open_flow_l_h(0.0128, 1.5)


def test_without_a_visit_a_small_seat_only_buys_time() -> None:
    course = leak_course([BANK] * 4, SUPPLY, 0.0, Fault("float open"), 24.0)
    assert course.lost_l[-1] > 950
    assert course.empty_h > 13


def test_a_saucer_holds_back_what_it_holds() -> None:
    fault = Fault("pot split", bank=0, pot=2, hole_m=0.01)
    found = safeguards([BANK] * 3, SUPPLY, 0.35, fault, 12.0, 0.002, 2.0, 4.0)
    saucer = next(guard.course for guard in found if "saucers" in guard.what)
    assert found[0].course.lost_l[-1] - saucer.lost_l[-1] == pytest.approx(4.0)
    assert saucer.lost_l[0] == 0.0


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from(["pot split", "microtube out", "float open", "float shut"]),
    st.integers(0, 11),
    st.floats(0.001, 0.03),
    st.floats(0.0, 2.0),
    st.sampled_from([5.0, math.inf]),
)
def test_no_water_is_made_whatever_breaks(kind: str, pot: int, hole_m: float, demand: float, shut_h: float) -> None:
    fault = Fault(kind, 1, pot, hole_m)  # type: ignore[arg-type]
    course = leak_course([BANK] * 2, SUPPLY, demand, fault, 48.0, shut_off_h=shut_h, step_h=0.5)
    assert abs(course.missing_l) < 1e-9 * 1000.0
    assert (np.diff(course.lost_l) >= -1e-12).all()
    assert (course.tank_l >= 0).all()


def test_what_cannot_be_is_refused_by_name() -> None:
    for fault, named in (
        (Fault("pot split", bank=2), "fault.bank"),
        (Fault("pot split", pot=12), "fault.pot"),
        (Fault("microtube out", hole_m=0.0), "fault.hole_m"),
    ):
        with pytest.raises(ValueError, match=named):
            leak_course([BANK], SUPPLY, 0.1, fault, 1.0)
