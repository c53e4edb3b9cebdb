"""Three invented years of a trial, drawn from a stated truth: they show the chain from layout to advice, no more."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np

from wetfoot.book.spreadsheet import Cell, write_rows
from wetfoot.errors import refuse
from wetfoot.trial.check_character import check_character
from wetfoot.trial.designs import Layout, Plot, draw
from wetfoot.trial.layout_file import save_layout
from wetfoot.trial.recipe import Factor, Recipe
from wetfoot.trial.response import pot_yield_g

YEARS = (2023, 2024, 2025)
FACTORS = (
    Factor("gutter", ("no", "yes"), "boards"),
    Factor("pieces", ("1", "2", "3", "4")),
    Factor("dome", ("no", "yes")),
)
# The truth that the years are drawn from; all of it is invented, nothing was ever grown.
LONE_PIECE_G, CEILING_G = 3300.0, 5700.0
GUTTER_G, DOME_G = 260.0, -30.0
YEAR_SD_G, BLOCK_SD_G, BOARD_SD_G, POT_SD_G, YEAR_PIECES_SD_G = 260.0, 150.0, 90.0, 400.0, 40.0
SPLIT_CHANCE = {"1": 0.0, "2": 0.01, "3": 0.05, "4": 0.25}
STEMS_A_PIECE = 5.0
LOSSES = {2023: ("stolen",), 2024: ("label lost", "not weighed", "board leak"), 2025: ("not weighed", "stolen")}
HEADS = ("pot", "check", "block", "board", "position", "gutter", "pieces", "dome", "weight (g)", "stems", "split",
         "lost", "remark")  # fmt: skip
INVENTED = "invented"
SEED = 11


def write_demo_trial(folder: Path) -> tuple[Path, ...]:
    """Write three invented years into a season's folder, each with its layout, as ``trial/2023.csv`` and so on.

    Args:
        folder: the season's folder.

    Returns:
        The files.

    Raises:
        WetfootError: if the folder cannot be written.
    """
    home = folder / "trial"
    try:
        home.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise refuse(str(home), f"this folder cannot be made ({error.strerror})", "", "check the folder") from error
    random = np.random.default_rng(SEED)
    made = []
    for year in YEARS:
        layout = demo_layout(year)
        made += [home / f"layout-{year}.csv", home / f"{year}.csv"]
        save_layout(layout, made[-2])
        write_rows(made[-1], HEADS, list(_rows(layout, year, random)))
    return tuple(made)


def demo_layout(year: int) -> Layout:
    """Return the layout of an invented year."""
    return draw(Recipe(FACTORS, blocks=4, seed=f"invented trial {year}", year=year))


def true_mean_g(treatment: tuple[str, str, str]) -> float:
    """Return the harvest that the stated truth gives a treatment (gutter, pieces, dome), year and place aside."""
    gutter, pieces, dome = treatment
    curve = float(pot_yield_g(int(pieces), 1.0 / LONE_PIECE_G, 1.0 / CEILING_G))
    return curve + GUTTER_G * (gutter == "yes") + DOME_G * (dome == "yes")


def _rows(layout: Layout, year: int, random: np.random.Generator) -> Iterator[list[Cell]]:
    season = random.normal(0.0, YEAR_SD_G)
    of_pieces = dict(zip(FACTORS[1].levels, random.normal(0.0, YEAR_PIECES_SD_G, 4).tolist(), strict=True))
    blocks = {plot.block: random.normal(0.0, BLOCK_SD_G) for plot in layout.recorded}
    boards = {plot.board: random.normal(0.0, BOARD_SD_G) for plot in layout.recorded}
    lost = dict(zip(random.permutation(len(layout.recorded)).tolist(), LOSSES[year], strict=False))
    for at, plot in enumerate(layout.recorded):
        gutter, pieces, dome = plot.treatment
        mean = (
            true_mean_g((gutter, pieces, dome)) + season + of_pieces[pieces] + blocks[plot.block] + boards[plot.board]
        )
        weight = max(mean + random.normal(0.0, POT_SD_G), 100.0)
        split = bool(random.random() < SPLIT_CHANCE[pieces])
        stems = int(random.poisson(STEMS_A_PIECE * int(pieces) ** 0.7))
        yield _row(plot, weight, stems, split, lost.get(at, ""))


def _row(plot: Plot, weight: float, stems: int, split: bool, lost: str) -> list[Cell]:
    shown: Cell = "" if lost else round(weight)
    return [plot.pot, check_character(plot.pot), plot.block, plot.board, plot.position, *plot.treatment, shown, stems,
            "yes" if split else "no", lost, INVENTED]  # fmt: skip
