"""Draw a trial by lot: which treatment each board and each pot gets, and in which order one walks past them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import islice

from wetfoot.errors import refuse
from wetfoot.trial.check_character import LETTERS, with_check
from wetfoot.trial.random_stream import STREAM, STREAM_VERSION, RandomStream
from wetfoot.trial.recipe import Recipe, check_recipe
from wetfoot.trial.squares import random_latin_rows, random_neighbour_rows

ALGORITHM = f"boards, then pots, by Fisher-Yates shuffles; {STREAM}"
ALGORITHM_VERSION = STREAM_VERSION


@dataclass(frozen=True)
class Plot:
    """One pot's place, and what it gets.

    Attributes:
        number: plot number along the walk, hundreds by block (101, 102, ..., 201, ...); 0 for a guard pot.
        block: number of the block, from 1.
        board: code of the board, e.g. 26B1L: year, block, board.
        position: place on the board, from 1, guard pots counted.
        treatment: levels in the order of the factors; empty for a guard pot.
        code: code of the treatment, T1, T2, ...; empty for a guard pot.
        digits: how many digits the position has in the pot's code.
    """

    number: int
    block: int
    board: str
    position: int
    treatment: tuple[str, ...] = ()
    code: str = ""
    digits: int = 1

    @property
    def is_guard(self) -> bool:
        """Return whether the pot only shields others and is not recorded."""
        return self.number == 0

    @property
    def pot(self) -> str:
        """Return the code of the pot, without its check character; all pots of a layout have codes of one length."""
        return f"{self.board}{self.position:0{self.digits}d}"

    @property
    def label(self) -> str:
        """Return the code of the pot with its check character."""
        return with_check(self.pot)


@dataclass(frozen=True)
class Layout:
    """A drawn trial: the recipe, the plots board by board, and how they were drawn."""

    recipe: Recipe
    plots: tuple[Plot, ...]
    algorithm: str = ALGORITHM
    version: int = ALGORITHM_VERSION

    @property
    def recorded(self) -> tuple[Plot, ...]:
        """Return the plots that are recorded, in the order of the walk."""
        return tuple(sorted((plot for plot in self.plots if not plot.is_guard), key=lambda plot: plot.number))

    def levels(self, name: str) -> list[str]:
        """Return the level of a factor in each recorded plot."""
        place = [factor.name for factor in self.recipe.factors].index(name)
        return [plot.treatment[place] for plot in self.recorded]


def draw(recipe: Recipe) -> Layout:
    """Return the layout that a recipe gives, always the same one.

    Version 1 draws in this order from one stream: the codes, if blind; for each block, which of its boards get which
    treatment of boards; for each square, its columns (latin only), rows and treatments; or, at random, for each
    block and set, the treatments of pots over its places.

    Raises:
        WetfootError: if the recipe cannot be laid out.
    """
    check_recipe(recipe)
    stream = RandomStream(recipe.seed)
    codes = _codes(recipe, stream)
    on_boards = [each for _ in range(recipe.blocks) for each in stream.shuffled(_board_treatments(recipe))]
    on_pots = list(islice(_pot_treatments(recipe, stream), recipe.boards))
    plots = []
    for board, (outer, inners) in enumerate(zip(on_boards, on_pots, strict=True)):
        treatments = [_combined(recipe, outer, inner) for inner in inners]
        plots += _board_plots(recipe, board, treatments, codes)
    return Layout(recipe, tuple(plots))


def differences(layout: Layout) -> list[str]:
    """Return what a stored layout has other than a new draw from its recipe, in words; nothing if it is the same.

    Raises:
        WetfootError: if the layout was drawn by another version, which cannot be drawn again here.
    """
    if layout.version != ALGORITHM_VERSION:
        what = f"it was drawn by version {layout.version} of the algorithm"
        raise refuse("layout", what, f"version {ALGORITHM_VERSION}", "use the stored plots; they stand as they are")
    drawn = {(plot.board, plot.position): plot for plot in draw(layout.recipe).plots}
    stored = {(plot.board, plot.position): plot for plot in layout.plots}
    found = []
    for place in sorted(drawn.keys() | stored.keys()):
        if drawn.get(place) != stored.get(place):
            old, new = (_told(plots.get(place)) for plots in (stored, drawn))
            found.append(f"board {place[0]}, position {place[1]}: stored {old}, drawn {new}")
    return found


def _told(plot: Plot | None) -> str:
    if plot is None:
        return "nothing"
    return "a guard pot" if plot.is_guard else f"plot {plot.number} {plot.code} {' '.join(plot.treatment)}"


def _codes(recipe: Recipe, stream: RandomStream) -> dict[tuple[str, ...], str]:
    treatments = recipe.treatments()
    ordered = stream.shuffled(treatments) if recipe.blind else treatments
    return {treatment: f"T{number}" for number, treatment in enumerate(ordered, start=1)}


def _board_treatments(recipe: Recipe) -> list[tuple[str, ...]]:
    """Return what the boards of a block get, before they are shuffled."""
    return recipe.treatments("boards") * recipe.boards_each * recipe.boards_per_set


def _pot_treatments(recipe: Recipe, stream: RandomStream) -> Iterator[list[tuple[str, ...]]]:
    """Yield what the pots of each board get, board after board."""
    treatments = recipe.treatments("pots")
    while recipe.arrangement != "random":
        square = random_latin_rows if recipe.arrangement == "latin" else random_neighbour_rows
        for row in square(len(treatments), stream):
            yield [treatments[each] for each in row]
    while True:
        mixed = stream.shuffled(treatments * recipe.times)
        for start in range(0, len(mixed), recipe.positions):
            yield mixed[start : start + recipe.positions]


def _combined(recipe: Recipe, outer: tuple[str, ...], inner: tuple[str, ...]) -> tuple[str, ...]:
    """Return the levels on a pot in the order of the factors."""
    levels = {"boards": iter(outer), "pots": iter(inner)}
    return tuple(next(levels[factor.on]) for factor in recipe.factors)


def _board_plots(
    recipe: Recipe, board: int, treatments: list[tuple[str, ...]], codes: dict[tuple[str, ...], str]
) -> list[Plot]:
    """Return the plots of a board, guard pots at its ends."""
    n, guards = recipe.positions, recipe.guards
    block, in_block = divmod(board, recipe.boards_in_block)
    name = board_code(recipe, block + 1, in_block)
    pots_in_block = n * recipe.boards_in_block
    hundreds = (block + 1) * 10 ** max(2, len(str(pots_in_block)))
    digits = len(str(n + 2 * guards))
    plots = []
    for at, treatment in enumerate(treatments):
        walked = n - 1 - at if board % 2 else at  # every second board is walked from its far end
        number = hundreds + in_block * n + walked + 1
        plots.append(Plot(number, block + 1, name, guards + at + 1, treatment, codes[treatment], digits))
    ends = [*range(1, guards + 1), *range(guards + n + 1, 2 * guards + n + 1)]
    return sorted(
        [*plots, *(Plot(0, block + 1, name, at, digits=digits) for at in ends)], key=lambda plot: plot.position
    )


def board_code(recipe: Recipe, block: int, in_block: int) -> str:
    """Return the code of a board: two digits of the year, B and the block, a letter (L and R if there are two).

    Args:
        recipe: the trial's recipe.
        block: number of the block, from 1.
        in_block: number of the board in the block, from 0.
    """
    letters = "LR" if recipe.boards_in_block == 2 else LETTERS
    number = f"{block:0{len(str(recipe.blocks))}d}"
    return f"{recipe.year % 100:02d}B{number}{letters[in_block]}"
