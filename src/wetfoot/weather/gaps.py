"""Fill short gaps of a daily table, only when a person asks for it, and name every filled day."""

from __future__ import annotations

import pandas as pd

from wetfoot.weather.daily import REQUIRED


def fill_gaps(table: pd.DataFrame, longest_days: int) -> tuple[pd.DataFrame, dict[int, str]]:
    """Return the table with short gaps filled, and for each filled row (by position) what was done.

    Temperatures are interpolated linearly; rain is taken as zero. A gap longer than ``longest_days``, or at
    either end of the table, stays. Interpolated extremes that would cross are made equal.

    Args:
        table: consecutive days, columns of the daily table.
        longest_days: the longest gap to fill; 0 fills nothing.
    """
    filled = table.copy()
    notes: dict[int, str] = {}
    short = {column: _short_gaps(table[column], longest_days) for column in REQUIRED}
    for column in ("tmin_c", "tmax_c"):
        values = pd.Series(table[column].to_numpy(float)).interpolate(limit_area="inside")
        filled[column] = table[column].mask(short[column], pd.Series(values.to_numpy(), index=table.index))
    lower, upper = filled[["tmin_c", "tmax_c"]].min(axis=1), filled[["tmin_c", "tmax_c"]].max(axis=1)
    filled["tmin_c"] = filled["tmin_c"].mask(short["tmin_c"], lower)
    filled["tmax_c"] = filled["tmax_c"].mask(short["tmax_c"], upper)
    filled["rain_mm"] = table["rain_mm"].mask(short["rain_mm"], 0.0)
    for column, how in (("tmin_c", "interpolated"), ("tmax_c", "interpolated"), ("rain_mm", "taken as zero")):
        for position in short[column].to_numpy().nonzero()[0].tolist():
            before = notes.get(position)
            notes[position] = f"{before}, {column} {how}" if before else f"{column} {how}"
    return filled, notes


def _short_gaps(values: pd.Series, longest_days: int) -> pd.Series:
    """Return where values are missing in a run of at most so many days with measured days on both sides."""
    missing = values.isna()
    length = missing.groupby((missing != missing.shift()).cumsum()).transform("size")
    inside = values.ffill().notna() & values.bfill().notna()
    return missing & inside & (length <= longest_days)
