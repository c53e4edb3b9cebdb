"""Times of repeated runs, and how they are written into a table."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

REPEATS = 7


def seconds(work: Callable[[], object], repeats: int = REPEATS) -> list[float]:
    """Return the times of repeated runs, after one to warm up."""
    work()
    taken = []
    for _ in range(repeats):
        start = time.perf_counter()
        work()
        taken.append(time.perf_counter() - start)
    return taken


def middle_and_range_ms(taken: list[float]) -> tuple[str, str]:
    """Return the median and the range as they stand in a table."""
    return f"{statistics.median(taken) * 1e3:.2f}", f"{min(taken) * 1e3:.2f} to {max(taken) * 1e3:.2f}"


def row(name: str, taken: list[float], against: float) -> str:
    """Return a line of a table: name, median, range, and how many times faster than a time in seconds."""
    middle, spread = middle_and_range_ms(taken)
    return f"| {name} | {middle} | {spread} | {against / statistics.median(taken):.0f} |"
