"""Estimated means, standard errors and comparisons.

Sources: case A is invented data, answers from R 4.2.2 with emmeans 1.8.4 on pbkrtest; warpbreaks and PlantGrowth are
worked examples whose Tukey tables R prints, their data typed from memory and borne out by the published answers.
"""

from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from wetfoot.trial.kenward_roger import kenward_roger
from wetfoot.trial.means import compare, means_table, standard_difference
from wetfoot.trial.mixed import reml, same_group
from wetfoot.trial.terms import build_model, coded, factorial_terms, levels_of

DATA = Path(__file__).parent / "data"


def case_a(column, block_fixed=True):
    table = pd.read_csv(DATA / "trial_case_A.csv").dropna(subset=[column])
    factors = {f: table[f].to_numpy() for f in ("gutter", "pieces", "pot")}
    block = table["block"].to_numpy()
    nuisance = coded(block, levels_of(block)) if block_fixed else None
    model = build_model(factors, factorial_terms(list(factors)), nuisance)
    random = {} if block_fixed else {"block": same_group(block)}
    random["board"] = same_group(table["board"].to_numpy())
    return model, kenward_roger(reml(table[column].to_numpy(float), model.x, random, bounded=True))


def one_way(name, response, factors):
    table = pd.read_csv(DATA / f"{name}.csv")
    model = build_model({f: table[f].to_numpy() for f in factors}, [(f,) for f in factors])
    return model, kenward_roger(reml(table[response].to_numpy(float), model.x, {}))


def test_case_a_means_of_these_blocks_and_of_a_new_block():
    for fixed, piece, gutter in (
        (True, (51.446143, 22.626605), (40.815363, 3)),
        (False, (114.236791, 4.039170), (109.860106, 3.442349)),
    ):
        model, adjusted = case_a("w_complete", fixed)
        found = means_table(adjusted, model, ["pieces"])
        assert found.estimates.value == pytest.approx([1348.6875, 1919.4375, 2020.25, 2165.375])
        assert found.estimates.se == pytest.approx([piece[0]] * 4, rel=1e-7)
        assert found.estimates.df == pytest.approx([piece[1]] * 4, rel=1e-6)
        found = means_table(adjusted, model, ["gutter"])
        assert found.estimates.value == pytest.approx([1720.84375, 2006.03125])
        assert found.estimates.se == pytest.approx([gutter[0]] * 2, rel=1e-6)
        assert found.estimates.df == pytest.approx([gutter[1]] * 2, rel=1e-6)


def test_case_a_means_with_lost_pots():
    model, adjusted = case_a("w")
    found = means_table(adjusted, model, ["pieces"]).estimates
    assert found.value == pytest.approx([1357.65028, 1919.43750, 2003.30188, 2186.82263], abs=6e-6)
    assert found.se == pytest.approx([54.758517, 49.956082, 55.501511, 54.413747], abs=1e-6)
    assert found.df == pytest.approx([26.245, 23.796, 25.632, 27.080], abs=6e-4)
    found = means_table(adjusted, model, ["pot"]).estimates
    assert found.value == pytest.approx([1817.55629, 1916.04986], abs=6e-6)
    assert found.se == pytest.approx([38.903081, 37.061116], abs=1e-6)
    assert found.df == pytest.approx([10.4653, 9.6459], abs=6e-5)


def test_case_a_cell_means():
    model, adjusted = case_a("w_complete")
    found = means_table(adjusted, model, ["gutter", "pieces", "pot"])
    air_first = [
        *(1151.00, 1289.25, 1671.00, 1865.25, 1936.00, 2004.25, 1980.75, 1869.25),
        *(1356.50, 1598.00, 1973.25, 2168.25, 2022.75, 2118.00, 2443.75, 2367.75),
    ]
    assert found.cells[0] == ("no", "1", "air")
    assert found.estimates.value == pytest.approx(air_first)


def test_case_a_gutter_difference_and_interval():
    model, adjusted = case_a("w")
    found = compare(adjusted, model, "gutter")[0]
    assert found.differences.value == pytest.approx([-285.440909])
    assert found.differences.se == pytest.approx([53.581026])
    assert found.differences.df == pytest.approx([2.910658])
    assert [found.low[0], found.high[0]] == pytest.approx([-458.959, -111.923], abs=6e-4)


def test_case_a_pairs_complete():
    model, adjusted = case_a("w_complete")
    found = compare(adjusted, model, "pieces")[0]
    assert found.differences.value == pytest.approx([-570.75, -671.5625, -816.6875, -100.8125, -245.9375, -145.125])
    # The reference gives 3.297e-14 for pair 1-4, below three times the digits it carries; see the bound in
    # test_pairs_and_letters. It is left out here.
    keep = [0, 1, 3, 4, 5]
    published = [1.716e-9, 1.881e-11, 0.476441, 0.00534353, 0.174087]
    assert found.p_tukey[keep] == pytest.approx(published, rel=1e-3)
    assert found.differences.p == pytest.approx(
        [2.884e-10, 3.154e-12, 7.501e-15, 0.154604, 0.00100418, 0.0430202], rel=2e-4
    )
    assert found.letters_tukey[::-1] == ("a", "ab", "b", "c")
    assert found.letters_lsd[::-1] == ("a", "b", "b", "c")


def test_case_a_pairs_with_lost_pots():
    model, adjusted = case_a("w")
    found = compare(adjusted, model, "pieces")[0]
    assert found.differences.value == pytest.approx(
        [-561.787216, -645.651601, -829.172348, -83.864385, -267.385133, -183.520748], abs=1e-6
    )
    assert found.differences.se == pytest.approx(
        [74.122232, 78.368783, 76.779686, 74.672805, 73.867896, 77.645014], abs=1e-6
    )
    assert found.differences.df == pytest.approx([36.5974, 37.4712, 36.2944, 36.9533, 36.2690, 36.6748], rel=3e-6)
    assert found.p_tukey == pytest.approx(
        [3.0815e-08, 3.6645e-09, 3.8576e-12, 0.677823, 0.00474111, 0.102361], rel=1e-3
    )
    assert found.letters_tukey[::-1] == ("a", "ab", "b", "c")
    assert found.letters_lsd[::-1] == ("a", "b", "b", "c")


@pytest.mark.parametrize(
    ("column", "value", "se", "df", "p"),
    [
        ("w_complete", [-257.125, -302.625, -100.25, -480.75], [102.892287] * 4, [22.626605] * 4, None),
        (
            "w",
            [-334.930132, -302.625, -66.353770, -437.854735],
            [109.340732, 99.912164, 111.003021, 108.827494],
            [27.0432, 23.7957, 25.6317, 27.0804],
            [0.00491325, 0.00582798, 0.555242, 0.000414208],
        ),
    ],
)
def test_case_a_gutter_at_each_number_of_pieces(column, value, se, df, p):
    model, adjusted = case_a(column)
    found = [c.differences for c in compare(adjusted, model, "gutter", ["pieces"])]
    assert [d.value[0] for d in found] == pytest.approx(value)
    assert [d.se[0] for d in found] == pytest.approx(se, rel=1e-7)
    assert [d.df[0] for d in found] == pytest.approx(df, rel=2e-6)
    assert p is None or [d.p[0] for d in found] == pytest.approx(p, rel=1e-5)


@pytest.mark.parametrize(
    ("factor", "within", "sed", "df", "lsd"),
    [
        ("gutter", (), 57.721640, 3, 183.69602),
        ("pieces", (), 69.546315, 42, 140.35015),
        ("pieces", ("gutter",), 98.353342, 42, 198.48508),
        ("gutter", ("pieces",), 102.892287, 22.626605, 213.04344),
    ],
)
def test_case_a_standard_errors_of_differences(factor, within, sed, df, lsd):
    model, adjusted = case_a("w_complete")
    found = standard_difference(compare(adjusted, model, factor, within))
    assert found.sed == pytest.approx(sed, abs=6e-7)
    assert found.df == pytest.approx(df, rel=1e-6)
    assert found.lsd == pytest.approx(lsd, abs=2e-5)
    assert (factor, within) != ("pieces", ()) or found.hsd == pytest.approx(186.03342, abs=2e-5)


def test_warpbreaks_tukey_of_the_additive_fit():
    model, adjusted = one_way("warpbreaks", "breaks", ("wool", "tension"))
    found = compare(adjusted, model, "tension")[0]
    assert found.levels == ("H", "L", "M")
    assert found.differences.value == pytest.approx([-14.722222, -4.722222, 10], abs=1e-6)
    assert found.p_tukey == pytest.approx([0.0011218, 0.4474210, 0.0336262], abs=1e-7)


def test_plant_growth():
    model, adjusted = one_way("plantgrowth", "weight", ("group",))
    found = compare(adjusted, model, "group")[0]
    assert found.differences.value[2] == pytest.approx(-0.865)
    assert found.p_tukey == pytest.approx([0.3908711, 0.1979960, 0.0120064], abs=1e-7)


def test_oats_pairs():
    table = pd.read_csv(DATA / "oats.csv")
    names = ["nitrogen", "variety"]
    model = build_model({f: table[f].to_numpy() for f in names}, factorial_terms(names))
    plot = same_group((table["block"] + table["variety"]).to_numpy())
    fit = reml(table["yield"].to_numpy(float), model.x, {"plot": plot, "block": same_group(table["block"].to_numpy())})
    found = compare(kenward_roger(fit), model, "nitrogen")[0]
    assert found.differences.se == pytest.approx([4.435752] * 6, rel=1e-6)
    assert found.p_tukey[[0, 3, 5]] == pytest.approx([0.0004, 0.0064, 0.1797], abs=6e-5)


def test_levels_that_are_numbers_stand_in_their_order():
    assert levels_of(np.array([10, 2, 1])) == ("1", "2", "10")
    assert levels_of(np.array(["0.2", "0", "10"])) == ("0", "0.2", "10")
