"""What to do on which day: visits with what they will likely ask for, and the stages of the crop."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from wetfoot.answers.solution import Mix
from wetfoot.crop.calendar import Stage, on_date, stages, visit_days
from wetfoot.plan.model import Crop, Plan
from wetfoot.quantities import convert, number_text, show, volume_kind
from wetfoot.season.ensemble import Ensemble


@dataclass(frozen=True)
class Entry:
    """One day's work: its date, day after planting, title, words, and whether it is a visit."""

    on: date
    day: int
    title: str
    words: str
    visit: bool


def calendar(plan: Plan, ensemble: Ensemble, mix: Mix) -> tuple[Entry, ...]:
    """Return the season's entries by date; visits carry the refill to expect."""
    crop = plan.crop
    entries = [
        Entry(on_date(crop.planting, stage.day), stage.day, stage.title, stage.words, visit=False)
        for stage in crop_stages(crop)
    ]
    entries += [_visit(plan, ensemble, mix, day) for day in visit_days(plan.visits.every_d, crop.season_d)]
    return tuple(sorted(entries, key=lambda entry: (entry.on, entry.visit)))


def crop_stages(crop: Crop) -> tuple[Stage, ...]:
    """Return the stages of the plan's crop."""
    return stages(
        emergence_d=crop.emergence_d,
        half_cover_d=crop.half_cover_d,
        hilling_from_d=crop.hilling_from_d,
        hilling_every_d=crop.hilling_every_d,
        hilling_until_d=min(crop.hilling_until_d, crop.tops_cut_d - 1),
        tops_cut_d=crop.tops_cut_d,
        harvest_d=crop.season_d,
    )


def _visit(plan: Plan, ensemble: Ensemble, mix: Mix, day: int) -> Entry:
    on = on_date(plan.crop.planting, day)
    if day == 0:
        words = "First filling: fill the tank, mix to the target, let every pot come to its level, mark it."
    elif day >= plan.crop.tops_cut_d:
        words = "Supply shut. Look for rot and pests, read the levels; do not refill."
    else:
        words = _refill_words(plan, ensemble, mix, day)
    return Entry(on, day, "Visit", words, visit=True)


def _refill_words(plan: Plan, ensemble: Ensemble, mix: Mix, day: int) -> str:
    """Return the refill to expect: what the tank will have given since the last visit, in 8 runs of 10."""
    full = plan.tank.volume_l
    low, middle, high = (full - float(ensemble.tank_l.values[row][day - 1]) for row in (2, 1, 0))
    system = plan.units
    if middle < 1.0:
        most = f"; at most {show(high, 'volume', system)}" if high >= 1.0 else ""
        return f"Read tank, EC, levels, rain. The pots live on rain: expect to add nothing{most}."
    span = " to ".join(number_text(float(convert(value, "volume", system))) for value in (low, high))
    expected = f"{show(middle, 'volume', system)} ({span})"
    stock = show(mix.strength * middle, volume_kind(mix.strength * middle, system), system)
    return f"Read tank, EC, levels, rain. Expect to add {expected} of water and {stock} of each stock."
