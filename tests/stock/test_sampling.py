"""Sample sizes and bounds against printed tables.

Tables: ISPM 31 (2008), Methodologies for sampling of consignments, appendix tables 1 and 2 (values as in the project
handbook, computed there by the exact formula; agreement with the printed tables from memory). Other values: closed
forms computed in the project handbook with scipy and statsmodels.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from wetfoot.stock.pooling import (
    assays_per_unit,
    cheapest_pool,
    cluster_detection,
    independent_pieces,
    largest_pool,
    pools_needed,
    prevalence_from_pools,
)
from wetfoot.stock.sampling import (
    chance_infected,
    detection_probability,
    false_alarm_chance,
    prevalence_bounds,
    sample_size,
    sample_size_of_many,
)

PREVALENCES = (0.10, 0.05, 0.02, 0.01, 0.005, 0.001)
FINITE_95: dict[int, tuple[int | None, ...]] = {
    25: (19, 24, None, None, None, None),
    50: (22, 39, 48, None, None, None),
    100: (25, 45, 78, 95, None, None),
    200: (27, 51, 105, 155, 190, None),
    300: (28, 54, 117, 189, 285, None),
    400: (28, 55, 124, 211, 311, None),
    500: (28, 56, 129, 225, 388, None),
    600: (28, 56, 132, 235, 379, None),
    700: (28, 57, 134, 243, 442, None),
    800: (28, 57, 136, 249, 421, None),
    900: (28, 57, 137, 254, 474, None),
    1000: (29, 57, 138, 258, 450, 950),
    2000: (29, 58, 143, 277, 517, 1553),
    3000: (29, 58, 145, 284, 542, 1895),
    4000: (29, 58, 146, 288, 556, 2108),
    5000: (29, 59, 147, 290, 564, 2253),
    10000: (29, 59, 148, 294, 581, 2588),
}
FINITE_99: dict[int, tuple[int | None, ...]] = {
    25: (22, 25, None, None, None, None),
    50: (29, 45, 50, None, None, None),
    100: (36, 59, 90, 99, None, None),
    200: (40, 73, 136, 180, 198, None),
    300: (41, 78, 160, 235, 297, None),
    400: (42, 81, 174, 273, 360, None),
    500: (42, 83, 183, 300, 450, None),
    600: (43, 84, 190, 321, 470, None),
    700: (43, 85, 195, 336, 549, None),
    800: (43, 85, 199, 349, 546, None),
    1000: (43, 86, 204, 368, 601, 990),
    2000: (44, 88, 216, 410, 737, 1800),
    5000: (44, 89, 223, 438, 840, 3009),
    10000: (44, 90, 226, 448, 878, 3689),
}
# by sensitivity: prevalence 5, 2, 1, 0.5, 0.1 %, at 95 and 99 % confidence
MANY = {
    1.0: ((59, 149, 299, 598, 2995), (90, 228, 459, 919, 4603)),
    0.99: ((60, 150, 302, 604, 3025), (91, 231, 463, 929, 4650)),
    0.95: ((62, 157, 314, 630, 3152), (95, 241, 483, 968, 4846)),
    0.9: ((66, 165, 332, 665, 3328), (101, 254, 510, 1022, 5115)),
    0.8: ((74, 186, 373, 748, 3744), (113, 286, 574, 1149, 5755)),
    0.75: ((79, 199, 398, 798, 3993), (121, 305, 612, 1226, 6138)),
    0.5: ((119, 299, 598, 1197, 5990), (182, 459, 919, 1840, 9209)),
    0.1: ((598, 1497, 2995, 5990, 29956), (919, 2301, 4603, 9209, 46050)),
}


@pytest.mark.parametrize(("confidence", "table"), [(0.95, FINITE_95), (0.99, FINITE_99)])
def test_finite_lots_match_the_printed_table_value_by_value(
    confidence: float, table: dict[int, tuple[int | None, ...]]
) -> None:
    for lot, row in table.items():
        assert tuple(sample_size(lot, p, confidence) for p in PREVALENCES) == row, lot


def test_large_lots_match_the_printed_table_for_every_sensitivity() -> None:
    for sensitivity, (at_95, at_99) in MANY.items():
        for confidence, row in ((0.95, at_95), (0.99, at_99)):
            found = tuple(sample_size_of_many(p, confidence, sensitivity) for p in PREVALENCES[1:])
            assert found == row, (sensitivity, confidence)


@pytest.mark.parametrize(
    ("lot", "prevalence", "sensitivity", "size"),
    [
        (200, 0.05, 0.9, 57), (200, 0.05, 0.8, 64), (200, 0.01, 0.9, 173), (500, 0.01, 0.9, 250),
        (1000, 0.01, 0.95, 272), (1000, 0.005, 0.95, 474), (100, 0.05, 0.9, 50), (60, 0.05, 0.9, 42),
    ],
)  # fmt: skip
def test_finite_lots_with_an_imperfect_test(lot: int, prevalence: float, sensitivity: float, size: int) -> None:
    assert sample_size(lot, prevalence, 0.95, sensitivity) == size


def test_an_imperfect_test_can_miss_even_if_all_are_tested() -> None:
    # one infected unit, test finds 90 % of them: 95 % is out of reach
    assert sample_size(100, 0.01, 0.95, 0.9) is None


def test_the_norm_of_two_hundred_tubers() -> None:
    # the composite of 200 tubers common in seed potato schemes; a published plan gives 87 % at 1 %
    for prevalence, chance in ((0.01, 0.86602), (0.005, 0.63304), (0.001, 0.18135)):
        assert 1.0 - (1.0 - prevalence) ** 200 == pytest.approx(chance, abs=1e-5)
        assert detection_probability(200, 1_000_000, int(1_000_000 * prevalence)) == pytest.approx(chance, abs=2e-4)


@pytest.mark.parametrize(
    ("tested", "upper", "both"),
    [
        (10, 0.25887, 0.30850), (20, 0.13911, 0.16843), (30, 0.09503, 0.11570), (50, 0.05816, 0.07112),
        (60, 0.04870, 0.05963), (100, 0.02951, 0.03622), (200, 0.014867, 0.018275), (300, 0.009936, 0.012221),
        (500, 0.005974, 0.007351), (1000, 0.0029912, 0.0036821),
    ],
)  # fmt: skip
def test_nothing_found_still_leaves_a_prevalence_possible(tested: int, upper: float, both: float) -> None:
    assert prevalence_bounds(0, tested).high == pytest.approx(upper, abs=6e-6)
    assert prevalence_bounds(0, tested, sides="both").high == pytest.approx(both, abs=6e-6)


@pytest.mark.parametrize(
    ("positives", "tested", "low", "high"),
    [(1, 100, 0.000253, 0.054459), (2, 200, 0.001213, 0.035655), (3, 60, 0.010432, 0.139243)],
)
def test_clopper_pearson_bounds(positives: int, tested: int, low: float, high: float) -> None:
    assert prevalence_bounds(positives, tested, sides="both") == pytest.approx((low, high), abs=6e-7)


def test_an_insensitive_test_widens_the_bound() -> None:
    assert prevalence_bounds(0, 60, sensitivity=0.9).high == pytest.approx(0.05411, abs=6e-6)


@pytest.mark.parametrize(
    ("pool", "prevalence", "sensitivity", "pools"),
    [(10, 0.01, 1.0, 30), (10, 0.01, 0.9, 34), (10, 0.005, 0.9, 67), (20, 0.01, 0.95, 16), (5, 0.05, 0.9, 14)],
)
def test_pools_for_detection(pool: int, prevalence: float, sensitivity: float, pools: int) -> None:
    assert pools_needed(prevalence, pool, 0.95, sensitivity) == pools


@pytest.mark.parametrize(
    ("positives", "pools", "pool", "likeliest", "upper"),
    [(0, 20, 10, 0.0, 0.014867), (1, 20, 10, 0.0051162, 0.0240541), (2, 30, 10, 0.0068755, 0.0214974)],
)
def test_prevalence_from_pools(positives: int, pools: int, pool: int, likeliest: float, upper: float) -> None:
    found = prevalence_from_pools(positives, pools, pool, sides="upper")
    assert found.likeliest == pytest.approx(likeliest, abs=6e-8)
    assert found.high == pytest.approx(upper, abs=6e-7)


@pytest.mark.parametrize(
    ("prevalence", "pool", "tests"),
    [
        (0.001, 32, 0.062759), (0.002, 23, 0.088480), (0.005, 15, 0.139098), (0.01, 11, 0.195571),
        (0.02, 8, 0.274237), (0.05, 5, 0.426219), (0.1, 4, 0.593900), (0.2, 3, 0.821333), (0.3, 3, 0.990333),
    ],
)  # fmt: skip
def test_dorfmans_best_pools(prevalence: float, pool: int, tests: float) -> None:
    assert cheapest_pool(prevalence) == pool
    assert assays_per_unit(prevalence, pool) == pytest.approx(tests, abs=6e-7)


def test_pooling_gains_nothing_where_infection_is_common() -> None:
    assert cheapest_pool(0.32) == 1  # no gain above 0.3066: Dorfman's table, from memory


@pytest.mark.parametrize(
    ("pots", "pieces", "chance"), [(20, 1, 0.30461), (20, 3, 0.52849), (60, 1, 0.66373), (10, 6, 0.37925)]
)
def test_pots_count_for_more_than_pieces(pots: int, pieces: int, chance: float) -> None:
    assert cluster_detection(pots, pieces, 0.05, 0.4, 0.9) == pytest.approx(chance, abs=6e-6)


def test_sixty_pieces_from_six_pots_are_worth_eleven() -> None:
    assert independent_pieces(6, 10, 0.5) == pytest.approx(10.9, abs=0.01)


@pytest.mark.parametrize(
    ("prior", "prevalence", "tested", "sensitivity", "posterior"),
    [(0.1, 0.01, 60, 0.9, 0.06067), (0.1, 0.01, 300, 0.9, 0.007323), (0.5, 0.05, 60, 0.9, 0.05938)],
)
def test_belief_after_negative_tests(
    prior: float, prevalence: float, tested: int, sensitivity: float, posterior: float
) -> None:
    assert chance_infected(prior, prevalence, tested, sensitivity) == pytest.approx(posterior, abs=6e-6)


def test_sixty_tests_of_clean_units_raise_an_alarm_almost_every_second_time() -> None:
    assert false_alarm_chance(60, 0.99) == pytest.approx(0.4528, abs=5e-5)


def test_a_pool_must_not_dilute_below_the_limit_of_detection() -> None:
    assert largest_pool(1e5, 1e3) == 100


@given(st.integers(1, 400), st.floats(0.01, 0.5), st.floats(0.5, 1.0), st.floats(0.5, 0.99))
def test_the_sample_size_is_the_fewest_that_suffice(lot: int, p: float, sensitivity: float, confidence: float) -> None:
    size = sample_size(lot, p, confidence, sensitivity)
    if size is not None:
        infected = int(lot * p + 1e-9)
        assert detection_probability(size, lot, infected, sensitivity) >= confidence
        assert detection_probability(size - 1, lot, infected, sensitivity) < confidence


@given(st.integers(1, 300), st.integers(0, 300))
def test_more_positives_never_lower_a_bound(tested: int, positives: int) -> None:
    positives = min(positives, tested - 1)
    fewer, more = (
        prevalence_bounds(positives, tested, sides="both"),
        prevalence_bounds(positives + 1, tested, sides="both"),
    )
    assert fewer.low <= more.low
    assert fewer.high <= more.high


@pytest.mark.parametrize(
    "call",
    [
        lambda: sample_size(0, 0.05), lambda: sample_size(10, 0.0), lambda: sample_size(10, 0.05, 1.0),
        lambda: sample_size(10, 0.05, 0.95, 0.0), lambda: prevalence_bounds(5, 4), lambda: pools_needed(0.1, 0),
        lambda: detection_probability(11, 10, 1),
    ],
)  # fmt: skip
def test_impossible_samples_are_refused(call: object) -> None:
    with pytest.raises(ValueError, match="must be"):
        call()  # type: ignore[operator]
