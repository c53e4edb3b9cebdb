"""Steady rise from a water table against Gardner's exact solutions (1958, Soil Sci. 85:228), constant section."""

import math

import pytest

from wetfoot.water.upward_flow import Column, largest_factor, suction_at_height_m

# Figures of both solutions in cm and days, evaluated apart from this program with 30-digit arithmetic.
EXPONENTIAL = [
    (0.05, 100.0, 20.0, 100.0, 57.1317431665, {5: 8.54115680791, 10: 19.2605847866, 15: 35.3311504444}),
    (0.1, 50.0, 17.0, 100.0, 11.1730357516, {}),
    (0.02, 10.0, 50.0, 200.0, 5.53001792776, {}),
]
POWER = [
    (2, 100.0, 10.0, 20.0, 43.1047944559),
    (3, 100.0, 10.0, 20.0, 16.3310079357),
    (4, 100.0, 10.0, 20.0, 7.62963746012),
    (3, 50.0, 15.0, 50.0, 2.19069341119),
    (4, 1000.0, 10.0, 17.0, 127.229275274),
]
CONSTANTS = {1.5: 3.760901619, 2: 2.4674011, 3: 1.768047624, 4: 1.522017047}
ENDLESS_M = 1e16


def exponential(a_per_cm: float, ks_cm_d: float, flow_cm_d: float) -> Column:
    return Column(lambda s: ks_cm_d / 100 * math.exp(-a_per_cm * 100 * s), lambda z: 1.0, lambda z: flow_cm_d / 100)


def power(n: float, ks_cm_d: float, half_cm: float, flow_cm_d: float) -> Column:
    return Column(lambda s: ks_cm_d / 100 / (1 + (100 * s / half_cm) ** n), lambda z: 1.0, lambda z: flow_cm_d / 100)


@pytest.mark.parametrize(("a", "ks", "depth", "suction", "flow", "inside"), EXPONENTIAL)
def test_exponential_conductivity(
    a: float, ks: float, depth: float, suction: float, flow: float, inside: dict[int, float]
) -> None:
    """q = Ks (e^-aL - e^-aS) / (1 - e^-aL), and the suctions on the way."""
    closed = ks * (math.exp(-a * depth) - math.exp(-a * suction)) / (1 - math.exp(-a * depth))
    assert closed == pytest.approx(flow, rel=1e-11)
    assert 10 * largest_factor(exponential(a, ks, 10.0), 0.0, depth / 100, suction / 100) == pytest.approx(
        flow, rel=1e-7
    )
    for height, expected in inside.items():
        found = suction_at_height_m(exponential(a, ks, flow), 0.0, height / 100)
        assert found == pytest.approx(expected / 100, rel=1e-7)


def test_exponential_suctions_of_the_second_case() -> None:
    for height, expected in {5: 6.56611377036, 10: 14.8445715769, 15: 30.0517127615}.items():
        found = suction_at_height_m(exponential(0.1, 50.0, 11.1730357516), 0.0, height / 100)
        assert found == pytest.approx(expected / 100, rel=1e-6)


def test_exponential_limit_at_endless_suction() -> None:
    """hL -> -infinity: q = Ks e^-aL / (1 - e^-aL); at 10 m of suction e^-aS is 2e-22."""
    found = 10 * largest_factor(exponential(0.05, 100.0, 10.0), 0.0, 0.2, 10.0)
    assert found == pytest.approx(58.1976706869, rel=1e-7)


@pytest.mark.parametrize(("n", "ks", "half", "depth", "flow"), POWER)
def test_power_law_limit_at_endless_suction(n: float, ks: float, half: float, depth: float, flow: float) -> None:
    found = 10 * largest_factor(power(n, ks, half, 10.0), 0.0, depth / 100, ENDLESS_M)
    assert found == pytest.approx(flow, rel=1e-7)


@pytest.mark.parametrize(("n", "constant"), CONSTANTS.items())
def test_power_law_constants(n: float, constant: float) -> None:
    """q -> [pi / (n sin(pi/n))]^n Ks (half / L)^n for a deep water table: here L = 10,000 half."""
    flow = 10 * largest_factor(power(n, 100.0, 1.0, 10.0), 0.0, 100.0, ENDLESS_M**1.5) / 100
    assert flow * 10_000.0**n == pytest.approx(constant, rel=1e-4)


def test_a_flow_beyond_the_limit_never_arrives() -> None:
    assert suction_at_height_m(power(3, 100.0, 10.0, 16.34), 0.0, 0.20, most_m=1e9) is None
    assert suction_at_height_m(power(3, 100.0, 10.0, 16.32), 0.0, 0.20, most_m=1e9) is not None
