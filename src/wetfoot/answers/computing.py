"""Compute a whole season once, and write into its folder what it was computed from."""

from __future__ import annotations

import time
from collections.abc import Callable
from contextlib import suppress
from pathlib import Path

from wetfoot.answers.computed_log import LOG_FILE, Computed, log_computed, season_inputs
from wetfoot.answers.dossier import RUNS, Dossier, season_dossier
from wetfoot.answers.trace import SEED
from wetfoot.errors import WetfootError
from wetfoot.plan.file import plan_path

LARGEST_LOG_BYTES = 2_000_000  # some two thousand seasons; the log before it is kept too


def compute_season(
    folder: Path, runs: int = RUNS, seed: int = SEED, progress: Callable[[float], None] | None = None
) -> Dossier:
    """Return the season's dossier with its comparisons computed, and log inputs, seed, versions and seconds.

    Args:
        folder: the season's folder, or the plan's file.
        runs: how often the season is computed, for its spread.
        seed: of the random numbers.
        progress: called with the per cent that are done.

    Raises:
        WetfootError: if plan, weather or book cannot be used, with every reason; that is logged too.
    """
    tell = progress or (lambda _percent: None)
    began, inputs = time.monotonic(), {**season_inputs(folder), "runs": runs}

    def log(problems: tuple[str, ...] = ()) -> None:
        seconds = time.monotonic() - began
        _log(folder, Computed("a season", inputs, {"season": seed}, seconds, problems=problems))

    try:
        dossier = season_dossier(folder, runs, seed, lambda run: tell(50 * run / runs))
        dossier.compare(lambda share: tell(50 + 50 * share))
    except WetfootError as refused:
        log(tuple(str(problem) for problem in refused.problems))
        raise
    log()
    return dossier


def _log(folder: Path, computed: Computed) -> None:
    # a folder that may only be read is no reason to withhold an answer
    with suppress(WetfootError):
        log_computed(plan_path(folder).parent / LOG_FILE, computed, LARGEST_LOG_BYTES)
