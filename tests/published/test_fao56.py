"""The worked examples of Allen et al. 1998, FAO Irrigation and Drainage Paper 56, to their printed digits.

Numbers in the comments are the printed ones; those with more digits are the project's handbook table, worked
without the rounding of intermediate results that the printed examples have.
"""

from __future__ import annotations

import pytest

from wetfoot.climate import evapotranspiration as et

KM_H_PER_M_S = 3.6


def about(value: float, digits: int = 3) -> object:
    """Equal when rounded to the given number of decimals."""
    return pytest.approx(value, abs=0.5 * 10**-digits + 1e-9)


def net_radiation(tmin: float, tmax: float, ea: float, rs: float, rso: float) -> float:
    return float(et.net_shortwave_mj_m2(rs) - et.net_longwave_mj_m2(tmin, tmax, ea, rs, rso))


def test_example_2_psychrometric_constant_at_1800_m() -> None:
    assert et.air_pressure_kpa(1800) == about(81.8, 1)
    assert et.psychrometric_constant_kpa_c(1800) == about(0.054)


def test_example_3_saturation_vapour_pressure() -> None:
    assert et.saturation_vapour_pressure_kpa(24.5) == about(3.075)
    assert et.saturation_vapour_pressure_kpa(15.0) == about(1.705)
    assert et.mean_saturation_vapour_pressure_kpa(15.0, 24.5) == about(2.39, 2)


def test_example_5_vapour_pressure_from_humidity() -> None:
    assert et.vapour_pressure_from_humidity_kpa(18, 25, 54, 82) == about(1.70, 2)
    assert et.vapour_pressure_from_mean_humidity_kpa(18, 25, 68) == about(1.78, 2)


def test_examples_8_and_9_radiation_above_the_air_and_daylight() -> None:
    day = 246  # 3 September
    assert et.extraterrestrial_radiation_mj_m2(-20, day) == about(32.194)  # 32.2
    assert et.daylight_h(-20, day) == about(11.666)  # 11.7


def test_example_10_radiation_from_sunshine() -> None:
    latitude, day = -(22 + 54 / 60), 135
    ra = et.extraterrestrial_radiation_mj_m2(latitude, day)
    daylight = et.daylight_h(latitude, day)
    assert ra == about(25.111)  # 25.1
    assert daylight == about(10.895)  # 10.9
    assert et.radiation_from_sunshine_mj_m2(ra, 7.1, daylight) == about(14.460)  # 14.5


def test_example_14_wind_from_10_m() -> None:
    assert et.wind_at_2m_m_s(3.2, 10) == about(2.4, 1)


def test_example_17_bangkok_monthly_means() -> None:
    latitude, day, tmin, tmax, ea = 13 + 44 / 60, 105, 25.6, 34.8, 2.85
    ra = et.extraterrestrial_radiation_mj_m2(latitude, day)
    rs = float(et.radiation_from_sunshine_mj_m2(ra, 8.5, et.daylight_h(latitude, day)))
    rn = net_radiation(tmin, tmax, ea, rs, float(et.clear_sky_radiation_mj_m2(ra, 2)))
    assert rs == about(22.651)  # 22.65
    assert rn == about(14.333)  # 14.33
    assert et.penman_monteith_mm(tmin, tmax, ea, rn, 2.0, 2, soil_heat_mj_m2=0.14) == about(5.716)  # 5.72


def test_example_18_uccle_one_day() -> None:
    latitude, day, tmin, tmax, elevation = 50 + 48 / 60, 187, 12.3, 21.5, 100
    wind = et.wind_at_2m_m_s(10 / KM_H_PER_M_S, 10)
    ea = float(et.vapour_pressure_from_humidity_kpa(tmin, tmax, 63, 84))
    ra = et.extraterrestrial_radiation_mj_m2(latitude, day)
    daylight = et.daylight_h(latitude, day)
    rs = float(et.radiation_from_sunshine_mj_m2(ra, 9.25, daylight))
    rso = float(et.clear_sky_radiation_mj_m2(ra, elevation))
    assert wind == about(2.0776, 4)  # 2.078
    assert et.mean_saturation_vapour_pressure_kpa(tmin, tmax) == about(1.99749, 5)  # 1.997
    assert ea == about(1.40862, 5)  # 1.409
    assert ra == about(41.088)  # 41.09
    assert daylight == about(16.105)  # 16.1
    assert rs == about(22.072)  # 22.07
    assert et.net_shortwave_mj_m2(rs) == about(16.995)  # 17.00
    assert et.net_longwave_mj_m2(tmin, tmax, ea, rs, rso) == about(3.712)  # 3.71
    rn = net_radiation(tmin, tmax, ea, rs, rso)
    assert rn == about(13.283)  # 13.28
    assert et.penman_monteith_mm(tmin, tmax, ea, rn, wind, elevation) == about(3.880)  # 3.9


def test_example_20_lyon_from_temperature_only() -> None:
    latitude, day, tmin, tmax, elevation = 45 + 43 / 60, 196, 14.8, 26.6, 200
    ra = et.extraterrestrial_radiation_mj_m2(latitude, day)
    rs = float(et.radiation_from_temperature_mj_m2(ra, tmin, tmax, elevation))
    ea = float(et.vapour_pressure_from_tmin_kpa(tmin))
    rn = net_radiation(tmin, tmax, ea, rs, float(et.clear_sky_radiation_mj_m2(ra, elevation)))
    eto = et.penman_monteith_mm(tmin, tmax, ea, rn, et.TYPICAL_WIND_2M_M_S, elevation)
    assert rs == about(22.290)  # 22.29
    assert eto == about(4.560)  # 4.56
    assert et.hargreaves_mm(tmin, tmax, ra) == about(5.033)  # 5.0
