"""A grower's own retention table against curves that are known, and tables that must be refused."""

import tomllib
from importlib.resources import files

import numpy as np
import pytest
from scipy.optimize import curve_fit

from wetfoot.water.fitting import fit_medium
from wetfoot.water.medium import Medium, load_media, water_content

RAW = tomllib.loads(files("wetfoot.water").joinpath("media.toml").read_text("utf-8"))
KPA_M = 0.101972
FINE_TABLE = [0, 0.3, 0.6, 1, 2, 3, 5, 10, 30, 100]
GOOD = ([0, 1, 5, 10, 50], [0.87, 0.58, 0.36, 0.305, 0.24])


def four(medium: Medium) -> list[float]:
    return [medium.residual, medium.saturated, medium.alpha_per_m, medium.n]


@pytest.mark.parametrize("name", sorted(RAW))
def test_exact_points_give_the_library_back(name: str) -> None:
    known = load_media()[name]
    fit = fit_medium(name, FINE_TABLE, water_content(np.array(FINE_TABLE) * KPA_M, known).tolist(), known.k1_cm_d)
    assert four(fit.medium) == pytest.approx(four(known), rel=1e-5)
    assert fit.root_mean_square < 1e-7
    assert fit.at_bound == ()


@pytest.mark.parametrize("name", sorted(RAW))
def test_the_points_behind_the_library_give_its_parameters(name: str) -> None:
    """Parameters fitted apart from this program to the same points, given to four or five digits."""
    fit = fit_medium(name, RAW[name]["points_kpa"], RAW[name]["points"], 30.0)
    assert four(fit.medium) == pytest.approx(four(load_media()[name]), rel=5e-4)
    assert fit.fitted == pytest.approx(RAW[name]["points"], abs=1e-5)
    assert np.all(np.isnan(fit.errors))  # four points, four parameters: nothing left to judge by


@pytest.mark.parametrize(
    ("residual", "saturated", "alpha_per_cm", "n"),
    [
        (0.153, 0.250, 0.0079, 10.4), (0.131, 0.396, 0.00423, 2.06),
        (0.218, 0.520, 0.0115, 2.03), (0.0, 0.446, 0.00152, 1.17),
    ],
    ids=["Hygiene sandstone", "silt loam G.E.3", "Guelph loam, drying", "Beit Netofa clay"],
)  # fmt: skip
def test_soils_far_from_any_potting_mix(residual: float, saturated: float, alpha_per_cm: float, n: float) -> None:
    """van Genuchten (1980), table 1 (values from memory): parameters come back from exact points."""
    suction = [0, 1, 3, 6, 8, 10, 12, 15, 20, 30, 60, 100, 300, 1500]
    known = Medium("", residual, saturated, alpha_per_cm * 100, n, 1.0, "")
    fit = fit_medium("soil", suction, water_content(np.array(suction) * KPA_M, known).tolist(), 1.0)
    assert four(fit.medium) == pytest.approx(four(known), rel=1e-3, abs=1e-4)


def test_standard_errors_are_those_of_a_reference_fit() -> None:
    """Reference: scipy.optimize.curve_fit (Levenberg-Marquardt, natural parameters) on the same noisy points."""
    known, rng = load_media()["peat-perlite 3:1"], np.random.default_rng(7)
    suction = np.array([0, 0.2, 0.5, 1, 1.5, 2, 3, 5, 7, 10, 20, 50, 100])
    noisy = np.sort(water_content(suction * KPA_M, known) + rng.normal(0, 0.008, suction.size))[::-1]

    def curve(s: np.ndarray, tr: float, ts: float, alpha: float, n: float) -> np.ndarray:
        return tr + (ts - tr) * (1 + (alpha * s) ** n) ** (1 / n - 1)

    found, covariance = curve_fit(curve, suction * KPA_M, noisy, p0=four(known))
    fit = fit_medium("own", suction.tolist(), noisy.tolist(), 30.0)
    assert four(fit.medium) == pytest.approx(found.tolist(), rel=1e-4)
    assert list(fit.errors) == pytest.approx(np.sqrt(np.diag(covariance)).tolist(), rel=1e-2)
    assert fit.residuals == pytest.approx(noisy - curve(suction * KPA_M, *found), abs=1e-6)


def test_the_conductivity_is_what_was_given() -> None:
    medium = fit_medium("own", *GOOD, 12.0, 2.0, "measured").medium
    assert (medium.k1_cm_d, medium.k1_range_cm_d, medium.k1_source) == (12.0, (6.0, 24.0), "measured")
    assert medium.alpha_ratio == 1.0


@pytest.mark.parametrize(
    ("suction", "water", "named"),
    [
        ([0, 1, -5, 10], [0.9, 0.6, 0.4, 0.3], "row 3: suction_kpa must be 0 or more, not -5"),
        ([0, 1, 1, 10], [0.9, 0.6, 0.4, 0.3], "row 3: suction_kpa 1 must be above 1"),
        ([0, 5, 1, 10], [0.9, 0.6, 0.4, 0.3], "row 3: suction_kpa 1 must be above 5"),
        ([0, 1, 5, 10], [1.2, 0.6, 0.4, 0.3], "row 1: water content must be a volume fraction from 0 to 1, not 1.2"),
        ([0, 1, 5, 10], [0.9, 0.6, 0.4, -0.3], "row 4: water content"),
        ([0, 1, 5, 10], [0.9, 0.6, 0.7, 0.3], "row 3: water content 0.7 rises above 0.6"),
        ([0, 1, 5], [0.9, 0.6, 0.4], "3 rows, but the curve needs at least 4"),
        ([0, 1, 5, 10], [0.9, 0.6, 0.4], "4 suctions but 3 water contents"),
        ([0, 1, 5, 10], [0.6, 0.6, 0.6, 0.6], "rows 1 to 4: only 1 different"),
        ([0, 1, float("nan"), 10], [0.9, 0.6, 0.4, 0.3], "row 3: suction_kpa"),
        ([0, 1, 5, 10], [0.9, 0.6, float("nan"), 0.3], "row 3: water content"),
    ],
)
def test_a_table_that_cannot_be_is_refused_by_row(suction: list[float], water: list[float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        fit_medium("own", suction, water, 30.0)


def test_all_wrong_rows_are_named_at_once() -> None:
    with pytest.raises(ValueError, match=r"row 1.*row 4.*row 3.*k1_cm_d must be above 0, not 0") as refused:
        fit_medium("own", [-1, 1, 5, 10], [0.9, 0.6, 0.7, -0.2], 0.0)
    assert str(refused.value).count("row ") == 3
    with pytest.raises(ValueError, match=r"k1_factor must be 1 or more, not 0\.5"):
        fit_medium("own", *GOOD, 30.0, 0.5)
