"""Power, LSD and detectable differences before planting.

The table is that of the project's handbook (trial.md 7.3), computed there with another program. Three of its cells
are rounded twice (.66347 stands as .664, .41445 as .415, .99847 as .999), so powers are held to 0.0006.
"""

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy import stats

from wetfoot.trial.power import (
    Comparison,
    comparisons,
    detectable_difference_pct,
    effect_power,
    f_power,
    lsd_pct,
    pair_power,
)
from wetfoot.trial.split_plot import SplitPlot

TABLE = {  # blocks: pots, three pairs of power and LSD %, F of pieces, gutter at board CV 0, 4 and 8 %, pot type
    2: (32, 0.643, 12.87, 0.377, 18.20, 0.214, 25.74, 0.421, 0.219, 0.160, 0.106, 0.907),
    3: (48, 0.840, 10.04, 0.552, 14.19, 0.315, 20.07, 0.664, 0.619, 0.415, 0.223, 0.987),
    4: (64, 0.932, 8.56, 0.685, 12.11, 0.408, 17.12, 0.819, 0.899, 0.682, 0.369, 0.998),
    5: (80, 0.973, 7.60, 0.784, 10.75, 0.493, 15.20, 0.908, 0.982, 0.854, 0.512, 1.000),
    6: (96, 0.990, 6.91, 0.855, 9.77, 0.570, 13.82, 0.956, 0.997, 0.940, 0.635, 1),
    8: (128, 0.999, 5.95, 0.938, 8.42, 0.697, 11.91, 0.991, 1, 0.992, 0.810, 1),
    10: (160, 1, 5.31, 0.975, 7.51, 0.792, 10.62, 0.999, 1, 0.999, 0.908, 1),
    11: (176, 1, 5.06, 0.985, 7.15, 0.829, 10.12, 0.999, 1, 1.000, 0.937, 1),
}
PAIRS = ("pieces", "pieces within one board treatment", "single cells of one board treatment")


def named(layout, cv_pot=12.0, cv_board=0.0, years=None):
    return {part.name: part for part in comparisons(layout, cv_pot, cv_board, years)}


def trial(blocks, years=1):
    return SplitPlot({"gutter": 2}, {"pieces": 4, "pot": 2}, blocks=blocks, years=years)


@pytest.mark.parametrize("blocks", TABLE)
def test_every_value_of_the_power_table(blocks):
    pots, *values = TABLE[blocks]
    found = named(trial(blocks))
    assert trial(blocks).pots == pots
    for place, name in enumerate(PAIRS):
        assert pair_power(found[name], 15.0) == pytest.approx(values[2 * place], abs=6e-4)
        assert lsd_pct(found[name]) == pytest.approx(values[2 * place + 1], abs=0.0051)
    assert effect_power(found["pieces"], [7.5, -7.5, 0, 0]) == pytest.approx(values[6], abs=6e-4)
    for board_cv, expected in zip((0, 4, 8), values[7:10], strict=True):
        assert pair_power(named(trial(blocks), cv_board=board_cv)["gutter"], 15.0) == pytest.approx(expected, abs=6e-4)
    assert pair_power(found["pot"], 15.0) == pytest.approx(values[10], abs=6e-4)


def test_gutter_over_years_with_year_fixed():  # handbook trial.md 7.3
    cases = {(4, 4.0): 0.9998, (4, 8.0): 0.949, (3, 4.0): 0.994, (3, 8.0): 0.832}
    for (blocks, board_cv), expected in cases.items():
        gutter = named(trial(blocks, years=3), cv_board=board_cv)["gutter"]
        assert gutter.df == 3 * (blocks - 1)
        assert pair_power(gutter, 15.0) == pytest.approx(expected, abs=6e-4)


def test_years_as_a_sample_have_the_df_of_year_by_treatment():  # handbook trial.md 2.3: G (1, 2), P (3, 6) df
    found = named(trial(4, years=3), cv_board=4.0, years=3.0)
    assert (found["gutter"].df, found["pieces"].df) == (2, 6)
    assert stats.f.isf(0.05, 1, found["gutter"].df) == pytest.approx(18.51, abs=0.005)
    assert found["pieces"].variance_pct2 == pytest.approx(144 / 48 + 9 / 3)


def test_one_year_cannot_be_a_sample_of_years():
    assert named(trial(4), years=3.0) == {}


def test_df_never_exceed_boards_less_blocks_less_one():  # handbook trial.md section 11, trap 1
    for blocks in range(2, 9):
        layout = trial(blocks)
        assert named(layout)["gutter"].df == layout.boards - blocks - 1 == blocks - 1


@given(st.integers(2, 3), st.integers(2, 5), st.integers(1, 3), st.integers(2, 6), st.integers(1, 2), st.integers(1, 3))
@settings(deadline=None)
def test_degrees_of_freedom_add_up_to_pots_less_one(gutters, pieces, copies, blocks, boards, years):
    layout = SplitPlot({"gutter": gutters}, {"pieces": pieces}, blocks, boards, copies, years)
    treatments = years * (gutters * pieces - 1)  # with year by treatment
    spent = (years - 1) + years * (blocks - 1) + treatments + layout.board_df + layout.pot_df
    assert spent == layout.pots - 1


def test_mixed_comparison_has_the_handbook_sed_and_satterthwaite_df():  # handbook trial.md 2.2, case A
    pot_ms, board_ms, mean = 38693.5193, 53308.6042, 1863.4375
    cv_pot = 100 * pot_ms**0.5 / mean
    cv_board = 100 * ((board_ms - pot_ms) / 8) ** 0.5 / mean
    mixed = named(trial(4), cv_pot, cv_board)["board treatments at one pieces"]
    assert mixed.df == pytest.approx(22.626605, rel=1e-6)
    assert (2 * mixed.variance_pct2) ** 0.5 * mean / 100 == pytest.approx(102.892287, rel=1e-6)
    assert lsd_pct(mixed) * mean / 100 == pytest.approx(213.04344, rel=1e-6)
    assert not mixed.exact
    gutter = named(trial(4), cv_pot, cv_board)["gutter"]
    assert lsd_pct(gutter) * mean / 100 == pytest.approx(183.69602, rel=1e-6)


def test_published_programs_agree():
    # statsmodels 0.15: FTestAnovaPower(.25, nobs 180, k 4) and TTestIndPower(.5, 64), as quoted in the handbook.
    # The first is right to seven digits only: the definition in the next test gives 0.80398691287.
    assert f_power(3, 176, 180 * 0.25**2) == pytest.approx(0.8039868929, abs=3e-8)
    assert f_power(1, 126, 0.5**2 * 64 / 2) == pytest.approx(0.8014595579, abs=1e-9)


@example(3, 176, 11.25)
@given(st.integers(1, 8), st.integers(2, 150), st.floats(0.01, 60.0))
@settings(deadline=None)
def test_noncentral_f_is_a_poisson_mixture_of_betas(between, error, noncentrality):
    # Definition of the noncentral F (Johnson, Kotz & Balakrishnan, Continuous Univariate Distributions 2, ch. 30).
    critical = stats.f.isf(0.05, between, error)
    j = np.arange(600)
    tail = stats.beta.sf(between * critical / (between * critical + error), between / 2 + j, error / 2)
    expected = stats.poisson.pmf(j, noncentrality / 2) @ tail
    assert f_power(between, error, noncentrality) == pytest.approx(expected, abs=1e-9)


@pytest.mark.parametrize("noncentrality", np.geomspace(1300, 3500, 60))
def test_overwhelming_effects_have_power_one(noncentrality):
    # scipy 1.17's noncentral F is nan at some of these; the mixture of the test above is 1 less some 1e-180.
    critical, j = stats.f.isf(0.05, 1, 14), np.arange(4000)
    below = stats.poisson.pmf(j, noncentrality / 2) @ stats.beta.cdf(critical / (critical + 14), 0.5 + j, 7)
    assert below < 1e-12
    assert f_power(1, 14, noncentrality) == 1.0


def test_no_effect_is_found_as_often_as_alpha():
    assert f_power(3, 42, 0.0, alpha=0.01) == 0.01


@given(st.floats(0.3, 50.0), st.integers(2, 100), st.floats(0.1, 0.99))
@settings(deadline=None)
def test_detectable_difference_has_just_the_wanted_power(variance, df, power):
    comparison = Comparison("x", 2, variance, df)
    assert pair_power(comparison, detectable_difference_pct(comparison, power)) == pytest.approx(power, abs=1e-6)


def test_a_block_design_without_board_factor_has_its_usual_error_df():
    layout = SplitPlot({}, {"pieces": 4, "pot": 2}, blocks=4)
    assert (layout.boards, layout.pots, layout.pot_df) == (4, 32, 3 * 7)  # (blocks - 1)(treatments - 1)
    assert set(named(layout)) == {"pieces", "pot", "single cells of one board treatment"}


def test_impossible_layouts_and_requests_are_refused():
    with pytest.raises(ValueError, match="blocks must be >= 1"):
        trial(0)
    with pytest.raises(ValueError, match="at least 2 levels"):
        SplitPlot({}, {"pieces": 1})
    with pytest.raises(ValueError, match="no name in both"):
        SplitPlot({"pot": 2}, {"pot": 2})
    with pytest.raises(ValueError, match="cv_pot_pct"):
        comparisons(trial(4), 0.0)
    with pytest.raises(ValueError, match="means_pct must hold 4"):
        effect_power(named(trial(4))["pieces"], [1.0, 2.0])
    with pytest.raises(ValueError, match="power must be between"):
        detectable_difference_pct(named(trial(4))["pieces"], 1.0)
