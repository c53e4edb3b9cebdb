"""What a trial is asked to be: its factors, blocks and restrictions, checked before anything is drawn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import product
from math import prod
from typing import Literal

from wetfoot.errors import Problem, WetfootError
from wetfoot.trial.check_character import LETTERS

Arrangement = Literal["random", "latin", "neighbour"]
ARRANGEMENTS = ("random", "latin", "neighbour")
RESERVED = ("plot", "block", "board", "position", "pot code", "check", "treatment", "recipe", "error", "year", "lost")
"""What columns of layouts and of data are called, so that no factor may be."""
MOST_POTS = 5000
MOST_BLOCKS = 99
MOST_GUARDS = 5


@dataclass(frozen=True)
class Factor:
    """A treatment factor: its levels, and whether a whole board carries one level or each pot its own."""

    name: str
    levels: tuple[str, ...]
    on: Literal["boards", "pots"] = "pots"


@dataclass(frozen=True)
class Recipe:
    """All that a layout follows from; the same recipe always gives the same layout.

    Attributes:
        factors: the treatment factors.
        blocks: how many blocks.
        seed: the text that the random stream grows from.
        year: the year of the trial, which stands in the pots' codes.
        arrangement: how pot treatments stand along boards: at random, each once in every position (latin), or with
            every pair as neighbours equally often (neighbour).
        times: how many pots of a block carry each treatment of the pots, for every board that carries the block's.
        boards_each: how many boards of a block carry each treatment of the boards; without any, boards in a block.
        boards_per_set: over how many boards one set of all pot treatments is spread, where boards are short.
        guards: how many unrecorded pots stand at each end of a board.
        blind: whether scorers see a code, drawn by lot, instead of the treatment.
    """

    factors: tuple[Factor, ...]
    blocks: int
    seed: str
    year: int
    arrangement: Arrangement = "random"
    times: int = 1
    boards_each: int = 1
    boards_per_set: int = 1
    guards: int = 0
    blind: bool = False

    def treatments(self, on: str | None = None) -> list[tuple[str, ...]]:
        """Return every combination of levels, of all factors or of those on boards or on pots."""
        return list(product(*(factor.levels for factor in self.factors if on in (None, factor.on))))

    @property
    def set_size(self) -> int:
        """Return how many pots carry one set of the pots' treatments."""
        return prod(len(factor.levels) for factor in self.factors if factor.on == "pots") * self.times

    @property
    def positions(self) -> int:
        """Return how many recorded pots stand on a board."""
        return self.set_size // self.boards_per_set

    @property
    def boards_in_block(self) -> int:
        """Return how many boards a block has."""
        on_boards = prod(len(factor.levels) for factor in self.factors if factor.on == "boards")
        return on_boards * self.boards_each * self.boards_per_set

    @property
    def boards(self) -> int:
        """Return how many boards the trial has."""
        return self.blocks * self.boards_in_block

    @property
    def square_rows(self) -> int:
        """Return how many boards one square takes: n, or 2 n for neighbours with an odd number of treatments."""
        n = self.set_size
        return 2 * n if self.arrangement == "neighbour" and n % 2 else n


def check_recipe(recipe: Recipe) -> None:
    """Refuse a recipe that cannot be laid out.

    Raises:
        WetfootError: with everything that is wrong.
    """
    problems = [*_factor_problems(recipe), *_number_problems(recipe)]
    if not problems:
        problems = [*_size_problems(recipe), *_square_problems(recipe)]
    if problems:
        raise WetfootError(problems)


def _factor_problems(recipe: Recipe) -> Iterator[Problem]:
    names = [factor.name for factor in recipe.factors]
    if not names:
        yield Problem("factors", "there is none", "at least one factor with two levels", "say what is compared")
    for name in sorted({name for name in names if names.count(name) > 1}):
        yield Problem("factors", f"{name!r} stands there twice", "a name for each factor", "rename one")
    for factor in recipe.factors:
        where = f"factor {factor.name!r}"
        if not factor.name or any(" ".join(text.split()) != text for text in (factor.name, *factor.levels)):
            yield Problem(where, "a name or level has spaces at its ends, or several in a row", fix="take them out")
        if factor.name.casefold() in RESERVED or ":" in factor.name:
            yield Problem(
                where, "the name means something else here", f"not {', '.join(RESERVED)}, no colon", "rename it"
            )
        if factor.on not in ("boards", "pots"):
            yield Problem(where, f"it is on {factor.on!r}", "boards or pots", "choose one")
        if len(factor.levels) < 2:
            yield Problem(
                where, f"it has {len(factor.levels)} level(s)", "two levels or more", "add one or leave it out"
            )
        if len(set(factor.levels)) < len(factor.levels) or not all(factor.levels):
            yield Problem(where, "a level is empty or stands there twice", "a name for each level", "rename it")


def _number_problems(recipe: Recipe) -> Iterator[Problem]:
    ranges = {
        "blocks": (1, MOST_BLOCKS),
        "times": (1, MOST_POTS),
        "boards_each": (1, MOST_POTS),
        "boards_per_set": (1, MOST_POTS),
        "guards": (0, MOST_GUARDS),
        "year": (1900, 2199),
    }
    for name, (least, most) in ranges.items():
        value = getattr(recipe, name)
        if not least <= value <= most:
            yield Problem(name, f"{value}", f"a whole number from {least} to {most}", "change it")
    if not recipe.seed.strip():
        yield Problem("seed", "there is none", "any text", "write one down, such as the trial's name and year")
    if recipe.arrangement not in ARRANGEMENTS:
        yield Problem("arrangement", f"{recipe.arrangement!r}", ", ".join(ARRANGEMENTS), "choose one")


def _size_problems(recipe: Recipe) -> Iterator[Problem]:
    pots = recipe.boards * recipe.positions
    if pots > MOST_POTS:
        yield Problem("design", f"it needs {pots:,} pots", f"at most {MOST_POTS:,}", "take fewer levels or blocks")
    if recipe.boards_in_block > len(LETTERS):
        what = f"a block has {recipe.boards_in_block} boards"
        yield Problem("design", what, f"at most {len(LETTERS)}, a letter each", "take more blocks, smaller ones")
    if recipe.set_size % recipe.boards_per_set:
        what = f"{recipe.set_size} pots of a set do not spread evenly over {recipe.boards_per_set} boards"
        yield Problem("boards_per_set", what, f"a divisor of {recipe.set_size}", "change it")
    if recipe.boards_per_set > 1 and any(factor.on == "boards" for factor in recipe.factors):
        what = "a set spread over several boards, together with a factor on boards"
        fix = "put a whole set on each board, or leave the boards' factor out"
        yield Problem("boards_per_set", what, "1 when a factor is on boards", fix)


def _square_problems(recipe: Recipe) -> Iterator[Problem]:
    if recipe.arrangement == "random":
        return
    where, rows = f"arrangement {recipe.arrangement!r}", recipe.square_rows
    if recipe.times > 1 or recipe.boards_per_set > 1:
        yield Problem(where, "a square needs each treatment once on every board", "times 1, boards_per_set 1")
    elif recipe.set_size < 2:
        yield Problem(where, "no factor is on pots", "at least two treatments of pots", "leave the square out")
    elif recipe.boards % rows:
        pair = ", since an odd number of treatments takes two squares" if rows > recipe.set_size else ""
        what = f"{recipe.set_size} treatments on {recipe.boards} boards do not fill whole squares"
        fix = f"make blocks x boards in a block {rows}, {2 * rows}, ..., or let pots stand at random"
        yield Problem(where, what, f"a multiple of {rows} boards{pair}", fix)
