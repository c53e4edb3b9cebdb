"""The solver of a whole bench: laws of its parts, agreement with a general solver, and what must never happen."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import fsolve

from wetfoot.water.bench_parts import BankLines, Supply
from wetfoot.water.bench_tree import bench_tree
from wetfoot.water.day_course import State, march
from wetfoot.water.lines import laminar_loss_m_per_l_h, pipe_loss_m
from wetfoot.water.network import NotConvergedError, bench_levels, levels_of
from wetfoot.water.valve import closing_shift_m_per_m, full_open_flow_l_h, proportional_band_m

SUPPLY = Supply(0.6, 1.0, 1000.0, 0.019, 8.0)
BANK = BankLines(
    pots=8, set_level_m=0.05, board_height_m=0.1, lateral_bore_m=0.016, lateral_length_m=4.0, microtube_bore_m=0.003,
    microtube_length_m=0.3, valve_seat_m=0.0032, storage_l_m=60.0, overflow_height_m=0.07,
)  # fmt: skip


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False)


@st.composite
def any_bank(draw: st.DrawFn, level: bool = False) -> BankLines:
    pots = draw(st.integers(1, 30))
    rises = st.lists(between(-0.04, 0.04), min_size=pots, max_size=pots)
    return BankLines(
        pots=pots,
        set_level_m=draw(between(0.02, 0.1)),
        board_height_m=draw(between(0.0, 0.8)),
        lateral_bore_m=draw(between(0.004, 0.03)),
        lateral_length_m=draw(between(1.0, 40.0)),
        microtube_bore_m=draw(between(0.001, 0.008)),
        microtube_length_m=draw(between(0.1, 1.0)),
        valve_seat_m=draw(between(0.001, 0.015)),
        storage_l_m=draw(between(1.0, 90.0)),
        board_m=() if level else tuple(draw(rises)),
        adjusted_head_m=draw(st.sampled_from([None, 0.2, 2.0])),
        overflow_height_m=draw(st.sampled_from([math.inf, 0.12])),
        overflow_at=draw(st.sampled_from(["pots", "sump"])),
    )


@st.composite
def any_supply(draw: st.DrawFn) -> Supply:
    return Supply(
        floor_height_m=draw(between(0.9, 2.0)),
        water_depth_m=draw(between(0.5, 1.2)),
        volume_l=1000.0,
        line_bore_m=draw(between(0.004, 0.03)),
        line_length_m=draw(between(0.0, 30.0)),
        fill=draw(st.sampled_from([1.0, 0.5, 0.0])),
        temperature_c=draw(between(2.0, 40.0)),
    )


any_demand = st.sampled_from([0.0]) | between(1e-6, 3.0)


@settings(max_examples=60, deadline=None)
@given(st.lists(any_bank(), min_size=1, max_size=3), any_supply(), any_demand)
def test_no_depth_is_negative_and_no_water_is_made(banks: list[BankLines], supply: Supply, demand: float) -> None:
    bench = bench_levels(banks, supply, demand)
    used = 0.0
    for bank in bench.banks:
        assert (bank.depth_m >= 0).all()
        assert (bank.uptake_l_h <= demand * (1 + 1e-12)).all()
        assert bank.inflow_l_h == pytest.approx(bank.uptake_l_h + bank.overflow_l_h, abs=1e-9)
        used += bank.uptake_l_h.sum() + bank.overflow_l_h.sum() + bank.sump_overflow_l_h
    assert bench.tank_l_h == pytest.approx(used, rel=1e-9, abs=1e-9)


@settings(max_examples=60, deadline=None)
@given(any_bank(level=True), any_supply(), any_demand)
def test_farther_pots_are_never_deeper_on_a_level_board(bank: BankLines, supply: Supply, demand: float) -> None:
    depth = bench_levels([bank], supply, demand).banks[0].depth_m
    assert (np.diff(depth) <= 1e-11).all()


@settings(max_examples=40, deadline=None)
@given(st.lists(any_bank(), min_size=1, max_size=2), any_supply(), any_demand)
def test_every_link_keeps_its_own_law(banks: list[BankLines], supply: Supply, demand: float) -> None:
    """Each part recomputed by the functions of `lines` and `valve`, which have checks of their own."""
    bench = bench_levels(banks, supply, demand)
    for bank, found in zip(banks, bench.banks, strict=True):
        head = supply.height_m - bench.supply_loss_m - bank.board_height_m - bank.set_level_m
        adjusted = supply.full_height_m - bank.board_height_m - bank.set_level_m
        shift = closing_shift_m_per_m(bank.valve_seat_m, bank.float_diameter_m, bank.lever_ratio)
        shuts = bank.set_level_m + shift * (head - (adjusted if bank.adjusted_head_m is None else bank.adjusted_head_m))
        opened = np.clip((shuts - found.sump_level_m) / proportional_band_m(bank.valve_seat_m, bank.lever_ratio), 0, 1)
        if head > 1e-3:
            head -= max(0.0, found.sump_level_m - bank.set_level_m)
            full = full_open_flow_l_h(bank.valve_seat_m, head)
            assert found.valve_l_h == pytest.approx(opened * full, rel=1e-7, abs=1e-7)
        reach = bank.lateral_length_m / bank.pots
        laminar = laminar_loss_m_per_l_h(bank.lateral_bore_m, reach, supply.temperature_c)
        losses = np.diff(found.lateral_loss_m, prepend=0.0)
        flows = found.lateral_l_h
        exact = [pipe_loss_m(q, bank.lateral_bore_m, reach, 1.5e-6, supply.temperature_c) for q in flows]
        assert losses == pytest.approx(np.array(exact), rel=2e-3, abs=1e-9 + 1e-9 * laminar)


@settings(max_examples=25, deadline=None)
@given(any_bank(), any_supply(), any_demand)
def test_a_day_makes_no_water_and_no_negative_depth(bank: BankLines, supply: Supply, demand: float) -> None:
    bench = bench_tree([bank], supply)
    course = march(bench, demand, 24.0, step_h=1.0)
    assert (course.depth_m[0] >= 0).all()
    assert (course.tank_l >= 0).all()
    assert abs(course.missing_l) <= 1e-9 * (1.0 + course.tank_l[0])
    assert course.short_l >= -1e-9


def general_solution(bank: BankLines, supply: Supply, demand: float) -> np.ndarray:
    """Return each pot's inflow from scipy's dense solver, on flows and the sump's level, written apart from ours."""
    tube = laminar_loss_m_per_l_h(bank.microtube_bore_m, bank.microtube_length_m, supply.temperature_c)
    area = math.pi * bank.microtube_bore_m**2 / 4.0
    ends = bank.microtube_ends / (2 * 9.80665) / (area * 3.6e6) ** 2
    reach = laminar_loss_m_per_l_h(bank.lateral_bore_m, bank.lateral_length_m / bank.pots, supply.temperature_c)

    def residual(unknown: np.ndarray) -> np.ndarray:
        level, inflow = unknown[0], unknown[1:]
        total = inflow.sum()
        line = pipe_loss_m(total, supply.line_bore_m, supply.line_length_m, temperature_c=supply.temperature_c)
        carried = np.cumsum(inflow[::-1])[::-1]
        depth = level - np.cumsum(reach * carried) - tube * inflow - ends * inflow * abs(inflow) - bank.profile_m
        x = np.clip(depth / bank.dry_depth_m, 0.0, 1.0)
        head = supply.height_m - line - bank.seat_height_m
        shift = closing_shift_m_per_m(bank.valve_seat_m, bank.float_diameter_m, bank.lever_ratio)
        shuts = bank.set_level_m + shift * (head - (supply.full_height_m - bank.seat_height_m))
        band = proportional_band_m(bank.valve_seat_m, bank.lever_ratio)
        opened = np.clip((shuts - level) / band, 0.0, 1.0)
        valve = opened * full_open_flow_l_h(bank.valve_seat_m, head) - total
        return np.concatenate([[valve], demand * x * (2 - x) - inflow])

    start = np.concatenate([[bank.set_level_m - 0.001], np.full(bank.pots, 0.99 * demand)])
    found, _, code, message = fsolve(residual, start, full_output=True, xtol=1e-12)
    assert code == 1, message
    return np.asarray(found[1:])


@pytest.mark.parametrize("temperature_c", [8.0, 30.0])
@pytest.mark.parametrize("demand", [0.05, 0.35, 2.0])
@pytest.mark.parametrize("rise_m", [0.0, 0.004, 0.03])
def test_small_nets_agree_with_a_general_solver(temperature_c: float, demand: float, rise_m: float) -> None:
    supply = replace(SUPPLY, temperature_c=temperature_c, line_bore_m=0.004, line_length_m=2.0)
    bank = replace(BANK, overflow_height_m=math.inf, board_m=tuple(rise_m * np.cos(np.arange(8.0))))
    expected = general_solution(bank, supply, demand)
    assert bench_levels([bank], supply, demand).banks[0].inflow_l_h == pytest.approx(expected, rel=1e-8, abs=1e-9)


def test_too_small_a_valve_leaves_the_far_pots_dry() -> None:
    bench = bench_levels([replace(BANK, valve_seat_m=0.0005)], SUPPLY, 1.0)
    assert bench.banks[0].dry[-1]
    assert bench.banks[0].valve_open == 1.0
    head = SUPPLY.height_m - bench.supply_loss_m - BANK.seat_height_m
    assert bench.tank_l_h == pytest.approx(full_open_flow_l_h(0.0005, head), rel=1e-9)


def test_a_low_board_overflows() -> None:
    low = bench_levels([replace(BANK, board_m=(0.0,) * 7 + (-0.03,))], SUPPLY, 0.35).banks[0]
    assert low.overflow_l_h[-1] > 0
    assert low.depth_m[-1] > 0.07
    assert (low.overflow_l_h[:-1] == 0).all()


def test_what_the_tank_height_does_to_the_level() -> None:
    """0.474 mm per m for a 3.2 mm seat and a 60 mm float at ratio 6: balance of forces, by hand."""
    half = bench_levels([BANK], replace(SUPPLY, fill=0.5), 0.0).banks[0]
    assert half.closing_shift_m == pytest.approx(-0.5 * 0.474074e-3, rel=1e-5)
    assert half.depth_m == pytest.approx(np.full(8, 0.05 - 0.237037e-3), abs=1e-9)


def test_depth_is_the_sum_of_its_parts() -> None:
    found = bench_levels([replace(BANK, board_m=(0.001, -0.002) * 4)], SUPPLY, 0.35).banks[0]
    parts = 0.05 + found.closing_shift_m - found.float_sag_m
    parts = parts - found.lateral_loss_m - found.microtube_loss_m - found.board_m
    assert found.depth_m == pytest.approx(parts, abs=1e-15)


def test_a_bench_of_many_pots_is_that_of_few() -> None:
    """2,000 pots on 40 like banks: each bank as if it stood alone, but for the loss in the shared line."""
    wide = replace(SUPPLY, line_bore_m=0.2, line_length_m=0.01)
    bank = replace(BANK, pots=50, lateral_length_m=25.0, lateral_bore_m=0.025)
    many, alone = bench_levels([bank] * 40, wide, 0.35), bench_levels([bank], wide, 0.35)
    assert many.banks[39].depth_m == pytest.approx(alone.banks[0].depth_m, abs=1e-8)
    assert many.passes <= 5


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"microtube_bore_m": 0.0}, r"banks\[0\].microtube_bore_m must be > 0, not 0"),
        ({"lateral_bore_m": -0.01}, r"banks\[0\].lateral_bore_m"),
        ({"valve_seat_m": math.nan}, r"banks\[0\].valve_seat_m"),
        ({"board_m": (0.0, 0.1)}, r"banks\[0\].board_m must give 8 heights, one a pot, not 2"),
        ({"board_m": (math.nan,) * 8}, r"banks\[0\].board_m must hold finite"),
        ({"board_height_m": 1.7}, "lies above the full tank"),
        ({"overflow_height_m": 0.04}, r"banks\[0\].overflow_height_m"),
        ({"pots": 0}, r"banks\[0\].pots"),
        ({"board_height_m": math.nan}, r"banks\[0\].board_height_m"),
        ({"adjusted_head_m": math.nan}, r"banks\[0\].adjusted_head_m"),
        ({"overflow_width_m": math.nan}, r"banks\[0\].overflow_width_m"),
        ({"microtube_ends": -1.0}, r"banks\[0\].microtube_ends"),
    ],
)
def test_what_cannot_be_is_refused_by_name(change: dict[str, float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        bench_levels([replace(BANK, **change)], SUPPLY, 0.35)  # type: ignore[arg-type]


def test_supply_and_demand_that_cannot_be_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match=r"supply.line_bore_m.*supply.fill"):
        bench_levels([BANK], replace(SUPPLY, line_bore_m=0.0, fill=2.0), 0.35)
    with pytest.raises(ValueError, match="demand_l_h"):
        bench_levels([BANK], SUPPLY, -0.1)
    with pytest.raises(ValueError, match="8 pots"):
        bench_levels([BANK], SUPPLY, [np.ones(3)])
    with pytest.raises(ValueError, match="at least one bank"):
        bench_levels([], SUPPLY, 0.1)


def test_no_balance_is_said_with_the_state_reached() -> None:
    bench = bench_tree([BANK], SUPPLY)
    nodes = len(bench.tree.parent)
    nowhere = State(np.full(nodes, np.nan), np.zeros(nodes))
    with pytest.raises(
        NotConvergedError, match=r"a step of .* h: no balance after .* reached no finite head"
    ) as caught:
        march(bench, 0.3, 1.0, start=nowhere)
    assert len(caught.value.heads_m) == nodes
    assert caught.value.residual > 1


def test_a_steady_state_without_a_tank_level_is_no_number() -> None:
    with pytest.raises(NotConvergedError, match="levels of the bench: no balance"):
        levels_of(bench_tree([BANK], SUPPLY)._replace(tank_height_m=math.nan), 0.3)
