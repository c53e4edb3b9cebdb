"""The EC readings of each bank, held against what the season's runs expect."""

from __future__ import annotations

from datetime import date

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.readings import Point, Readings
from wetfoot.answers.trace import Answer, Number, State
from wetfoot.plan.model import Plan
from wetfoot.quantities import show
from wetfoot.season.ensemble import Ensemble

EC_SOURCE = "EC readings at 25 °C; season simulation, 8 runs in 10 within the band (one in ten below, one above)"
EXPECTED_OUTSIDE = 0.2
FEW = 5  # readings, below which no verdict is passed on how many are outside


def ec_answers(plan: Plan, ensemble: Ensemble, readings: Readings, until: date | None = None) -> tuple[Answer, ...]:
    """Return for each bank with EC readings how they lie against the expected band; doubtful ones do not count.

    Args:
        plan: the plan.
        ensemble: the season's bands.
        readings: of the book.
        until: the last day that counts; all if not given.
    """
    found = []
    for at, bank in enumerate(plan.banks):
        points = [point for point in readings.ec_ms_cm.get(bank.name, ()) if not point.doubtful]
        points = [point for point in points if until is None or point.on <= until]
        band = band_at(ensemble, [day_before(plan, point) for point in points], at)
        values = np.array([point.value for point in points])
        known = ~np.isnan(band).any(axis=0)
        if known.any():
            found.append(_answer(plan, bank.name, values[known], band[:, known]))
    return tuple(found)


def day_before(plan: Plan, point: Point) -> int:
    """Return the day whose end a reading stands for: visits are in the morning, bands are of the evening before."""
    return max((point.on - plan.crop.planting).days - 1, 0)


def band_at(ensemble: Ensemble, days: list[int], bank: int) -> NDArray[np.float64]:
    """Return low, middle and high of a bank's EC at the end of some days; shape (3, days)."""
    last = len(ensemble.dates) - 1
    return np.asarray(ensemble.ec_free_ms_cm.values[:, [min(day, last) for day in days], bank])


def _answer(plan: Plan, name: str, values: NDArray[np.float64], band: NDArray[np.float64]) -> Answer:
    low, middle, high = band
    off = values - middle
    mean, spread = float(off.mean()), float(off.std(ddof=1)) if len(off) > 1 else float("nan")
    below, above = int((values < low).sum()), int((values > high).sum())
    share = (below + above) / len(values)
    # half of the readings outside is far beyond the two in ten that a sound band leaves (binomial, from 5 readings)
    state: State = "watch" if len(values) >= FEW and share > 0.5 else "yes"
    side = "above" if mean > 0 else "below"
    words = (
        f"{len(values)} reading(s) lie on average {show(abs(mean), 'conductivity', plan.units)} {side} the expected "
        f"middle; {below} below the band and {above} above it, where two in ten may be."
    )
    if state == "watch":
        words += " The model of this bank's salts is off: go by the meter."
    how = "reading less the middle of the runs on the evening before"
    return Answer(
        f"Does the EC of bank {name} go as expected?",
        state,
        words,
        (
            Number("mean residual of EC", mean, how, EC_SOURCE, kind="conductivity"),
            Number("spread of the residuals", spread, how, EC_SOURCE, kind="conductivity"),
            Number("readings below the expected band", below, "count", EC_SOURCE, unit="readings"),
            Number("readings above the expected band", above, "count", EC_SOURCE, unit="readings"),
        ),
    )
