"""The transient column: balance, rest, limits, scenarios, and what it refuses."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from wetfoot.water.column import Basin, ColumnNotSolvedError, kernel_limits, run_column
from wetfoot.water.column_curves import curve_values, exponential_curves, medium_curves, tabulate_curves
from wetfoot.water.column_days import first_wetting, hot_day, nest_basin, wetting_again, without_supply
from wetfoot.water.column_drive import Daylight, Watering, wanted_l
from wetfoot.water.column_kernel import Grid, look_up, new_work, rates, sweep
from wetfoot.water.column_slices import slice_column, slice_nest
from wetfoot.water.conductivity_curve import conductivity_m_d
from wetfoot.water.medium import as_wetted, load_media, water_content
from wetfoot.water.nest import M_WATER_PER_KPA, Frustum, NestShape, free_solution_l, medium_volume_l, medium_water_l
from wetfoot.water.wicking import suction_at_top_kpa

NEST = NestShape(Frustum(0.15, 0.16, 0.24), Frustum(0.11, 0.14, 0.24), Frustum(0.095, 0.075, 0.15), 0.002, 0.22)
MEDIA = load_media()
MIX = MEDIA["peat-perlite 1:1"]


@pytest.mark.parametrize("name", MEDIA)
@pytest.mark.parametrize("history", ["wetted from above once", "never wetted"])
def test_table_is_the_media_curves(name: str, history: str) -> None:
    medium = as_wetted(MEDIA[name], history)  # type: ignore[arg-type]
    suction = np.concatenate([[0.0], np.geomspace(2e-5, 500.0, 3001)])
    water, conductivity = curve_values(medium_curves(medium), suction)
    assert np.abs(water - water_content(suction, medium)).max() < 1e-9
    assert conductivity == pytest.approx(conductivity_m_d(suction, medium), rel=1e-7)


def test_kernel_reads_the_same_table_and_its_derivatives() -> None:
    curves, head, width = medium_curves(MIX), -np.geomspace(1e-3, 50.0, 101), 1e-6
    work = new_work(len(head))
    look_up(curves, head, work)
    water, conductivity = curve_values(curves, -head)
    low, high = curve_values(curves, -head * (1 + width)), curve_values(curves, -head * (1 - width))
    assert np.allclose(work.water, water, rtol=0, atol=1e-15)
    assert np.allclose(work.conductivity, conductivity, rtol=1e-14)
    assert work.capacity == pytest.approx((high[0] - low[0]) / (-2 * width * head), rel=1e-3)
    assert work.slope == pytest.approx((high[1] - low[1]) / (-2 * width * head), rel=1e-3, abs=1e-6)


@pytest.mark.parametrize("rows", [3, 4, 5, 8, 111])
def test_sweep_solves_the_system(rows: int) -> None:
    """Against numpy's dense solver."""
    draw = np.random.default_rng(rows)
    lower, upper, right = draw.normal(size=rows), draw.normal(size=rows), draw.normal(size=rows)
    diagonal, found = 4.0 + draw.random(rows), np.empty(rows)
    sweep(lower, diagonal, upper, right, np.empty(rows), found)
    matrix = np.diag(diagonal) + np.diag(lower[1:], -1) + np.diag(upper[:-1], 1)
    assert found == pytest.approx(np.linalg.solve(matrix, right), rel=1e-12)


def test_slices_hold_the_medium() -> None:
    """Against the closed forms of `nest`."""
    column = slice_nest(NEST)
    assert column.volume_m3.sum() * 1000.0 == pytest.approx(medium_volume_l(NEST), rel=1e-12)
    assert column.root_share.sum() == pytest.approx(1.0, rel=1e-12)
    assert (column.root_share[column.height_m < 0.119] == 0.0).all()
    assert column.link_m.sum() > 0.0


@pytest.mark.parametrize("name", MEDIA)
def test_rest_stays_at_rest(name: str) -> None:
    column = slice_nest(NEST)
    run = run_column(column, medium_curves(MEDIA[name]), 0.05 - column.height_m, [24.0, 240.0], 0.05)
    assert np.abs(run.head_m - (0.05 - column.height_m)).max() < 1e-12
    assert np.abs(run.from_below_l).max() < 1e-12
    assert np.abs(run.flow_l_d).max() < 1e-9
    assert run.medium_l[0] == pytest.approx(medium_water_l(NEST, MEDIA[name], 0.05), rel=1e-3)


def test_steady_draw_comes_to_the_steady_suction() -> None:
    """1.75 L/d drawn at the surface for weeks, against the steady law of `wicking` (an ordinary equation in height)."""
    column, weeks_h = slice_nest(NEST, cells=220), 24.0 * 40.0
    draw = [Watering(0.0, weeks_h, -1.75 * 40.0)]
    run = run_column(column, medium_curves(MIX), 0.05 - column.height_m, [weeks_h], 0.05, draw)
    steady = suction_at_top_kpa(NEST, MIX, 0.05, 1.75, "wetted from above once", root_depth_m=1e-6)
    assert run.top_suction_kpa[0] == pytest.approx(steady, rel=1e-4)
    assert run.flow_l_d[0] == pytest.approx(1.75, rel=1e-6)


levels = st.floats(-0.5, 0.2)


@settings(max_examples=25, deadline=None)
@given(
    name=st.sampled_from(sorted(MEDIA)),
    branch=st.sampled_from(["wetted from above once", "never wetted"]),
    demand=st.floats(0.0, 5.0),
    watered=st.lists(st.tuples(st.floats(0.0, 20.0), st.floats(0.1, 6.0), st.floats(0.0, 2.0)), max_size=2),
    steps=st.lists(st.tuples(st.floats(0.0, 30.0), levels), min_size=1, max_size=4),
    dry=st.one_of(st.none(), st.floats(0.5, 20.0)),
)
def test_no_water_is_made_or_lost(name, branch, demand, watered, steps, dry) -> None:  # type: ignore[no-untyped-def]
    column = slice_nest(NEST, cells=44)
    curves = medium_curves(as_wetted(MEDIA[name], branch))
    level = sorted(steps)
    jumps = [point for hour, metres in level for point in ((hour, level[0][1]), (hour, metres))]
    start = 0.05 - column.height_m if dry is None else np.full(len(column.height_m), -dry)
    waterings = [Watering(a, a + b, c) for a, b, c in watered]
    hours = [1.0, 11.0, 12.5, 30.0]
    run = run_column(column, curves, start, hours, jumps, waterings, demand, tolerance_m=1e-4)
    missing = np.diff(run.medium_l) - np.diff(run.from_below_l + run.from_top_l - run.taken_up_l)
    moved = np.abs(np.diff(run.from_below_l)).max() + run.medium_l.max()
    assert np.abs(missing).max() <= 1e-10 * moved + 1e-13
    assert run.mass_error <= 1e-10
    given_l = sum(w.litres * np.clip((30.0 - w.from_h) / (w.to_h - w.from_h), 0.0, 1.0) for w in waterings)
    assert run.from_top_l[-1] == pytest.approx(given_l, abs=1e-9)
    assert (np.diff(run.taken_up_l) >= -1e-12).all()
    assert run.taken_up_l[-1] <= run.wanted_l[-1] * (1.0 + 1e-4) + 1e-9
    held = MEDIA[name]
    assert ((run.water_content >= held.residual) & (run.water_content <= held.saturated + 1e-12)).all()


def test_a_basin_without_supply_gives_what_the_medium_takes() -> None:
    run = without_supply(NEST, MIX, 0.05, 2.5, np.arange(6.0, 97.0, 6.0))
    free = np.array([float(free_solution_l(NEST, max(level, 0.0))) for level in run.level_m])
    begun = float(free_solution_l(NEST, 0.05))
    assert begun - free == pytest.approx(run.from_below_l, abs=2e-5)  # the basin's table is linear between points
    assert (np.diff(run.level_m) < 1e-9).all()
    assert run.level_m[-1] < -0.1
    assert run.taken_up_l[-1] < 0.8 * run.wanted_l[-1]
    assert run.mass_error < 1e-10


def test_uptake_falls_between_its_limits_and_ends() -> None:
    run = without_supply(NEST, MIX, 0.01, 4.0, [12.0 + 24.0 * k for k in range(5)])
    suction = -run.head_m / M_WATER_PER_KPA
    asked = 4.0 * np.pi * slice_nest(NEST).root_share  # noon of a half sine of 12 h
    assert run.uptake_l_d == pytest.approx(asked * np.clip((10.0 - suction) / 5.0, 0.0, 1.0), abs=1e-9)
    assert run.uptake_l_d[0].sum() > 1.0 > 0.3 > run.uptake_l_d[-1].sum()


def test_demand_is_drunk_in_full_where_water_is_plenty() -> None:
    run = hot_day(NEST, MEDIA["peat, fine"], 0.08, [1.0, 2.0, 3.0], [24.0, 48.0, 60.0, 96.0])
    assert run.wanted_l == pytest.approx([1.0, 3.0, 4.5, 9.0], rel=1e-12)
    assert run.taken_up_l == pytest.approx(run.wanted_l, rel=1e-4)


def test_first_wetting_follows_the_wetting_branch_and_a_watering_helps() -> None:
    hours = np.arange(2.0, 49.0, 2.0)
    alone = first_wetting(NEST, MIX, 0.05, hours)
    watered = first_wetting(NEST, MIX, 0.05, hours, waterings=[Watering(1.0, 1.5, 1.5)])
    rest = as_wetted(MIX, "never wetted")
    assert alone.medium_l[-1] == pytest.approx(medium_water_l(NEST, rest, 0.05), rel=2e-3)
    assert alone.top_suction_kpa[2] > 25.0 > 5.0 > watered.top_suction_kpa[2]
    assert (np.diff(alone.medium_l) > -1e-9).all()


def test_wetting_again_starts_with_the_water_there_is() -> None:
    dried = without_supply(NEST, MIX, 0.05, 2.5, [72.0])
    back = wetting_again(NEST, MIX, dried, 0.05, 0.0, [0.0, 6.0, 24.0])
    assert back.medium_l[0] == pytest.approx(dried.medium_l[-1], rel=1e-4)  # but for the foot, that stands in water
    assert back.medium_l[2] > back.medium_l[1] > back.medium_l[0]


def test_never_wetted_is_short_where_wetted_once_is_not() -> None:
    wetted = hot_day(NEST, MIX, 0.05, 2.5, [48.0])
    never = hot_day(NEST, MIX, 0.05, 2.5, [48.0], "never wetted")
    assert wetted.taken_up_l[0] == pytest.approx(5.0, rel=1e-3)
    assert never.taken_up_l[0] < 3.5


def test_a_level_that_jumps_ends_where_it_is_put() -> None:
    column = slice_nest(NEST)
    run = run_column(column, medium_curves(MIX), 0.05 - column.height_m, [1.0, 300.0], [(0.5, 0.05), (0.5, 0.09)])
    assert run.level_m == pytest.approx([0.09, 0.09])
    assert run.head_m[-1] == pytest.approx(0.09 - column.height_m, abs=1e-5)


def test_what_cannot_be_evaporated_is_not_answered() -> None:
    """Gardner (1958): alpha .05/cm, Ks 100, table 20 cm below cannot carry more than 58.2 cm/d; 70 are asked."""
    column = slice_column(lambda z: 1.0, [0.0, 0.2], 50)
    with pytest.raises(ColumnNotSolvedError, match="was not solved beyond") as caught:
        run_column(
            column, exponential_curves(0.2, 0.8, 5.0, 1.0), -column.height_m, [240.0], 0.0,
            [Watering(0.0, 240.0, -7000.0)],
        )  # fmt: skip
    assert 0.0 < caught.value.hours < 240.0
    assert caught.value.head_m.shape == column.height_m.shape
    assert np.isfinite(caught.value.head_m).all()


def test_derivatives_of_the_flows_are_those_of_the_flows() -> None:
    column, curves = slice_nest(NEST, cells=8), medium_curves(MIX)
    limits, work = kernel_limits(curves, 0.5, 0.2, 0.6, 1e-5), new_work(9)
    grid = Grid(column.rise_m, column.volume_m3, column.link_m, column.root_share)

    def flows(head: np.ndarray) -> np.ndarray:  # type: ignore[type-arg]
        rate = np.empty(9)
        look_up(curves, head, work)
        rates(grid, limits, head, 3e-3, 1e-3, work, rate)
        return rate

    head = -np.linspace(0.03, 0.55, 9)
    flows(head)
    found = np.diag(work.diagonal) + np.diag(work.lower[1:], -1) + np.diag(work.upper[:-1], 1)
    step = 1e-6
    columns = [(flows(head + step * e) - flows(head - step * e)) / (2 * step) for e in np.eye(9)]
    assert found == pytest.approx(np.array(columns).T, rel=2e-4, abs=1e-8)


def test_wanted_is_the_half_sine_summed() -> None:
    hours = np.array([0.0, 6.0, 12.0, 18.0, 24.0, 36.0])
    assert wanted_l(hours, 2.0, Daylight()) == pytest.approx([0.0, 0.0, 1.0, 2.0, 2.0, 3.0])


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"hours": []}, "hours"),
        ({"hours": [2.0, 1.0]}, "hours"),
        ({"hours": [np.nan]}, "hours"),
        ({"start_head_m": np.nan}, "start_head_m"),
        ({"level_m": [(3.0, 0.1), (1.0, 0.1)]}, "level_m"),
        ({"level_m": float("nan")}, "level_m"),
        ({"level_m": Basin(np.array([0.0, 0.1]), np.array([1.0, 0.5]))}, "basin"),
        ({"waterings": [Watering(2.0, 1.0, 1.0)]}, "waterings"),
        ({"demand_l_d": -1.0}, "demand_l_d"),
        ({"demand_l_d": []}, "demand_l_d"),
        ({"daylight": Daylight(18.0, 6.0)}, "daylight"),
        ({"uptake_limits_kpa": (10.0, 5.0)}, "uptake_limits_kpa"),
        ({"tolerance_m": 0.0}, "tolerance_m"),
    ],
)
def test_bad_input_is_refused_by_name(change, named) -> None:  # type: ignore[no-untyped-def]
    column = slice_nest(NEST, cells=22)
    usual = {"start_head_m": -0.1, "hours": [1.0], "level_m": 0.05}
    with pytest.raises(ValueError, match=named):
        run_column(column, medium_curves(MIX), **{**usual, **change})


def test_bad_columns_and_curves_are_refused_by_name() -> None:
    with pytest.raises(ValueError, match="ends_m"):
        slice_column(lambda z: 1.0, [0.0, 0.2, 0.1])
    with pytest.raises(ValueError, match="cells"):
        slice_column(lambda z: 1.0, [0.0, 0.2], 1)
    with pytest.raises(ValueError, match="section_m2"):
        slice_column(lambda z: 0.0, [0.0, 0.2])
    with pytest.raises(ValueError, match="water_content_at"):
        tabulate_curves(lambda s: 0.1 + 0.01 * s, lambda s: 1.0 / (1.0 + s))
    with pytest.raises(ValueError, match="conductivity_at"):
        tabulate_curves(lambda s: 0.5 / (1.0 + s), lambda s: -1.0 + 0.0 * s)
    with pytest.raises(ValueError, match="unit_m"):
        tabulate_curves(lambda s: 0.5 / (1.0 + s), lambda s: 1.0 / (1.0 + s), 0.0)


def test_nest_basin_is_the_nests_free_solution() -> None:
    basin = nest_basin(NEST)
    assert basin.free_l == pytest.approx(free_solution_l(NEST, basin.level_m))
