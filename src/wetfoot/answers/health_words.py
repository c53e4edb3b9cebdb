"""Tests for disease agents in words: 'not detected' with its limit, never 'free'; and which results still stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from wetfoot.book.stock_entries import HealthTest
from wetfoot.quantities import number_text
from wetfoot.stock.lots import day_of

NO_LIMIT = "limit not written"
AUTHORITY = (
    "This sheet is the station's own record. It is no certificate and no permit: certification, and leave to move "
    "planting stock, are the plant health authority's alone."
)


def found_words(test: HealthTest) -> str:
    """Return what a test found: 'not detected' with the limit of detection, 'POSITIVE', or that it is unclear."""
    if test.result == "negative":
        return f"not detected ({f'limit {test.detection_limit}' if test.detection_limit else NO_LIMIT})"
    return "POSITIVE" if test.result == "positive" else "unclear, to be tested again"


def how_words(test: HealthTest) -> str:
    """Return how it was tested: method, samples and pools, what the test finds and calls, who tested."""
    said = [sample_words(test)]
    for name, value in (("sensitivity", test.sensitivity), ("specificity", test.specificity)):
        said.append(f"{name} {number_text(100 * value, 4)} %" if value is not None else "")
    said.append(f"by {test.lab}" if test.lab else "")
    return ", ".join(each for each in said if each)


def sample_words(test: HealthTest) -> str:
    """Return the method of a test, its samples and how many pieces were pooled in each."""
    method = test.method or "method not written"
    count = f"{test.samples} sample{'' if test.samples == 1 else 's'}" if test.samples else "samples not counted"
    pooled = f" of {test.pool_size} pieces each" if test.pool_size and test.pool_size > 1 else ""
    return f"{method}, {count}{pooled}"


def confirming(tests: Iterable[HealthTest]) -> dict[str, HealthTest]:
    """Return, by the id of each test that was repeated to be sure, the last test that did so."""
    ordered = sorted(tests, key=lambda test: (test.at, test.id))
    return {test.confirms: test for test in ordered if test.confirms}


def confirmation_words(test: HealthTest, repeated: Mapping[str, HealthTest]) -> str:
    """Return what became of a result: confirmed, not confirmed, or to be confirmed if it is not negative."""
    again = repeated.get(test.id)
    if again is not None:
        agreed = "confirmed" if again.result == test.result else f"repeated: {again.result}"
        return f"{agreed} {day_of(again)}"
    return "" if test.result == "negative" else "to be confirmed"


def standing_alarms(tests: Sequence[HealthTest]) -> list[HealthTest]:
    """Return the positive and unclear tests that no later test was written to have repeated with a negative result."""
    repeated = confirming(tests)
    alarms = [test for test in tests if test.result != "negative"]
    return [test for test in alarms if test.id not in repeated or repeated[test.id].result != "negative"]


def lot_words(tests: Sequence[HealthTest]) -> list[str]:
    """Return one line for each agent that a thing was tested for: every alarm that stands, else the last result."""
    lines: list[str] = []
    alarms = standing_alarms(tests)
    for agent in dict.fromkeys(test.agent for test in tests):
        own = [test for test in tests if test.agent == agent]
        told = [test for test in alarms if test.agent == agent] or [max(own, key=lambda test: (test.at, test.id))]
        lines += [f"{agent}: {found_words(test)}, {day_of(test)}, {sample_words(test)}" for test in told]
    return lines or ["not tested"]
