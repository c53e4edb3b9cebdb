"""The library of media, their conductivity curve and wetting history, and water and air in a nest at rest."""

import math
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from wetfoot.water.air_space import (
    air_content,
    air_height_m,
    air_profile,
    container_capacity,
    mean_air_above,
    medium_below_l,
    rest,
)
from wetfoot.water.conductivity_curve import conductivity_function, conductivity_m_d
from wetfoot.water.medium import (
    WETTING_HISTORIES,
    Medium,
    as_wetted,
    load_media,
    saturation,
    suction_of_saturation_m,
    water_content,
    wetting_branch,
)
from wetfoot.water.nest import Frustum, NestShape, medium_section_m2, medium_volume_l, medium_water_l

NEST = NestShape(Frustum(0.13, 0.16, 0.22), Frustum(0.11, 0.14, 0.24), Frustum(0.095, 0.075, 0.15), 0.0, 0.22)
BARE = NEST._replace(dome=None)
MEDIA = load_media()
KPA_M = 0.101972
media = st.sampled_from(sorted(MEDIA))


@pytest.mark.parametrize("name", sorted(MEDIA))
def test_every_medium_says_where_its_numbers_come_from(name: str) -> None:
    medium = MEDIA[name]
    assert medium.source
    assert medium.k1_source
    low, high = medium.k1_range_cm_d
    assert (low, high) == pytest.approx((medium.k1_cm_d / 3, medium.k1_cm_d * 3))


def test_peat_with_roots_is_in_the_library() -> None:
    """Its retention points at 0, 1, 5, 10 kPa (an estimate)."""
    points = water_content(np.array([0.0, 1, 5, 10]) * KPA_M, MEDIA["peat with roots"])
    assert points == pytest.approx([0.874, 0.75, 0.55, 0.49], abs=1e-4)


@pytest.mark.parametrize("name", sorted(MEDIA))
@pytest.mark.parametrize("suction_m", [0.02, 0.1, 1.0, 10.0])
def test_conductivity_is_mualems_integral(name: str, suction_m: float) -> None:
    """Mualem (1976): Kr = Se^0.5 [int_0^Se dx / s(x) : int_0^1 dx / s(x)]^2, by quadrature; anchored at 1 kPa."""
    medium = MEDIA[name]
    m = 1 - 1 / medium.n

    def root(s: float) -> float:
        effective = float(saturation(s, medium))
        integral = quad(
            lambda x: (x ** (-1 / m) - 1) ** (-1 / medium.n), 0, effective, limit=400, epsabs=0, epsrel=1e-10
        )
        return float(effective**0.25) * float(integral[0])

    expected = medium.k1_cm_d / 100 * (root(suction_m) / root(KPA_M)) ** 2
    assert float(conductivity_m_d(suction_m, medium)) == pytest.approx(expected, rel=1e-7)


@given(media)
def test_conductivity_is_anchored_at_one_kpa_and_level_below_one_centimetre(name: str) -> None:
    conductivity = conductivity_function(MEDIA[name])
    assert conductivity(KPA_M) == pytest.approx(MEDIA[name].k1_cm_d / 100, rel=1e-12)
    assert conductivity(-0.2) == conductivity(0.0) == conductivity(0.01) > conductivity(0.0101)


def test_conductivity_keeps_its_digits_when_very_dry() -> None:
    """Asymptote for (alpha s)^n >> 1: Kr -> m^2 (alpha s)^(-n (l m + 2)), from the binomial series."""
    medium = MEDIA["peat, fine"]
    m = 1 - 1 / medium.n
    power = -medium.n * (0.5 * m + 2)
    ratio = float(conductivity_m_d(1e6, medium)) / float(conductivity_m_d(1e5, medium))
    assert ratio == pytest.approx(10**power, rel=1e-6)


@given(media, st.floats(0.006, 20.0))
def test_the_wetting_branch_keeps_conductivity_to_water_content(name: str, suction_m: float) -> None:
    drying, wetting = MEDIA[name], wetting_branch(MEDIA[name])
    assert wetting.alpha_per_m == 2 * drying.alpha_per_m
    assert float(water_content(suction_m, wetting)) == pytest.approx(
        float(water_content(2 * suction_m, drying)), rel=1e-12
    )
    there, here = conductivity_function(wetting)(suction_m), conductivity_function(drying)(2 * suction_m)
    assert there == pytest.approx(here, rel=1e-12)
    assert float(water_content(suction_m, wetting)) < float(water_content(suction_m, drying))


def test_history_decides_the_branch() -> None:
    mix = MEDIA["peat-perlite 1:1"]
    assert [as_wetted(mix, history).alpha_ratio for history in WETTING_HISTORIES] == [1.0, 2.0, 2.0]
    with pytest.raises(ValueError, match="history must be one of"):
        as_wetted(mix, "soaked")  # type: ignore[arg-type]
    with pytest.raises(ValueError, match="already"):
        wetting_branch(wetting_branch(mix))


@given(media, st.floats(1e-3, 1.0))
def test_suction_and_saturation_undo_each_other(name: str, effective: float) -> None:
    suction = suction_of_saturation_m(effective, MEDIA[name])
    assert float(saturation(suction, MEDIA[name])) == pytest.approx(effective, rel=1e-8)


@pytest.mark.parametrize("effective", [0.0, -0.1, 1.1])
def test_no_suction_for_an_impossible_saturation(effective: float) -> None:
    with pytest.raises(ValueError, match="effective_saturation"):
        suction_of_saturation_m(effective, MEDIA["coir"])


@pytest.mark.parametrize(
    ("name", "nest", "air_above", "air_height_cm", "top_water"),
    [
        ("peat, fine", NEST, 12.96, 14.05, 0.6623),
        ("peat-perlite 3:1", NEST, 27.04, 8.03, 0.4960),
        ("peat-perlite 1:1", NEST, 29.73, 7.24, 0.4300),
        ("peat-perlite-coir 1:1:1", NEST, 30.60, 7.33, 0.4448),
        ("peat-perlite 3:1", BARE, 24.07, 8.03, 0.4960),
    ],
)
def test_the_worked_nest_at_rest(
    name: str, nest: NestShape, air_above: float, air_height_cm: float, top_water: float
) -> None:
    """Computed apart from this program (numpy, to the digits given), 5 cm of solution."""
    found = rest(nest, MEDIA[name], 0.05)
    assert 100 * found.mean_air_above == pytest.approx(air_above, abs=0.006)
    assert found.rooting_air_height_m is not None
    assert 100 * found.rooting_air_height_m == pytest.approx(air_height_cm, abs=0.006)
    assert found.top_water == pytest.approx(top_water, abs=6e-5)
    assert found.water_l == pytest.approx(medium_water_l(nest, MEDIA[name], 0.05))


@given(media, st.floats(0.0, 0.2), st.booleans())
def test_mean_air_is_the_profile_averaged(name: str, level_m: float, dome: bool) -> None:
    """Reference: adaptive quadrature of A(z) air(z) over A(z) by scipy."""
    nest, medium = NEST if dome else BARE, MEDIA[name]

    def integral(of: Callable[[float], float]) -> float:
        return float(quad(of, level_m, 0.22, points=[level_m, 0.15], limit=200, epsabs=1e-12)[0])

    air = integral(lambda z: float(medium_section_m2(nest, z)) * float(air_content(z, medium, level_m)))
    volume = integral(lambda z: float(medium_section_m2(nest, z)))
    assert mean_air_above(nest, medium, level_m) == pytest.approx(air / volume, rel=1e-6)
    below = medium_volume_l(nest) - 1000 * volume
    assert medium_below_l(nest, level_m) == pytest.approx(below, abs=1e-6)


def test_volume_below_heights_of_the_worked_nest() -> None:
    """Computed apart from this program: 0 to 5 cm holds 0.69021 L beside the dome, 2.01070 L without."""
    assert medium_below_l(NEST, 0.05) == pytest.approx(0.69021, abs=5e-6)
    assert medium_below_l(BARE, 0.05) == pytest.approx(2.01070, abs=5e-6)
    assert medium_below_l(NEST, 0.3) == pytest.approx(medium_volume_l(NEST), rel=1e-12)
    assert medium_below_l(NEST, -0.1) == 0.0


@given(media, st.floats(0.0, 0.2), st.floats(0.01, 0.3))
def test_air_passes_its_share_at_the_height_found(name: str, level_m: float, air: float) -> None:
    medium = MEDIA[name]
    height = air_height_m(NEST, medium, level_m, air)
    if height is None:
        assert float(air_content(0.22, medium, level_m)) < air
    else:
        assert float(air_content(height, medium, level_m)) == pytest.approx(air, rel=1e-6)


def test_fine_peat_never_holds_more_air_than_it_can_drain() -> None:
    assert air_height_m(NEST, MEDIA["peat, fine"], 0.05, 0.8) is None
    assert air_height_m(NEST, MEDIA["peat, fine"], 0.05, 0.3) is None
    with pytest.raises(ValueError, match="air"):
        air_height_m(NEST, MEDIA["coir"], 0.05, -0.1)


def test_container_capacity_of_a_flat_thin_layer_is_saturation() -> None:
    """Limit: a layer much lower than 1/alpha drains nothing; a tall one keeps less."""
    thin = NestShape(Frustum(0.2, 0.2, 0.01), Frustum(0.1, 0.1, 0.01), None, 0.0, 1e-4)
    mix = MEDIA["peat-perlite 3:1"]
    assert container_capacity(thin, mix) == pytest.approx(mix.saturated, rel=1e-3)
    assert container_capacity(BARE, mix) < 0.95 * mix.saturated


def test_the_profile_is_saturated_below_the_level() -> None:
    profile = air_profile(NEST, MEDIA["coir"], 0.05, 23)
    assert profile.height_m[[0, -1]] == pytest.approx([0.0, 0.22])
    assert np.all(profile.air[profile.height_m <= 0.05] == 0)
    assert np.all(np.diff(profile.air[profile.height_m >= 0.05]) > 0)
    assert profile.water + profile.air == pytest.approx(0.95)


def test_nothing_stands_above_a_level_at_the_top() -> None:
    with pytest.raises(ValueError, match="level_m"):
        mean_air_above(NEST, MEDIA["coir"], 0.22)


def test_a_medium_can_still_be_named_by_its_first_seven_values() -> None:
    plain = Medium("own", 0.1, 0.9, 20.0, 1.5, 30.0, "measured")
    assert plain.alpha_ratio == 1.0
    assert math.isclose(replace(plain, k1_factor=2.0).k1_range_cm_d[1], 60.0)
