"""Paper forms of a trial: for weighing, in random order within blocks, and for scoring, along the walk."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby

from wetfoot.errors import refuse
from wetfoot.quantities import System
from wetfoot.sheets.press import Sheet, short
from wetfoot.trial.check_character import check_character
from wetfoot.trial.designs import Layout, Plot
from wetfoot.trial.random_stream import RandomStream
from wetfoot.trial.weights import LOSSES

MOST_COLUMNS = 6
LONGEST_HEAD = 24
SCORES = ("shoots", "height", "split (yes, no)")


def weighing_list(layout: Layout, system: System = "metric") -> Sheet:
    """Return the list for the scale: pots in random order within each block, so that drift of scale and hand is spread.

    Args:
        layout: the drawn trial; its seed gives the order, always the same one.
        system: the units that the scale shows.
    """
    unit = "lb or oz" if system == "US" else "g or kg"
    heads = [f"weight, {unit}", "split (yes, no)", "loss code", "remarks"]
    words = "Order drawn by lot within blocks. Weigh split pots too, and write the unit behind each weight."
    return _form("Weighing list", layout, weighing_order(layout), heads, words)


def scoring_form(layout: Layout, scores: Sequence[str] = SCORES) -> Sheet:
    """Return the form for scoring: a row a pot along the walk, an empty column for each score.

    Args:
        layout: the drawn trial.
        scores: heads of the columns, with units; at most six.

    Raises:
        WetfootError: if there are no columns or too many.
    """
    if not 1 <= len(scores) <= MOST_COLUMNS:
        raise refuse("scores", f"{len(scores)} columns", f"1 to {MOST_COLUMNS}", "print another form for the others")
    heads = [*(short(score, LONGEST_HEAD) for score in scores), "remarks"]
    words = "Pots along the walk. Score what you see, not what you expect; leave blank what was not seen."
    return _form("Scoring form", layout, list(layout.recorded), heads, words)


def weighing_order(layout: Layout) -> list[Plot]:
    """Return the recorded plots, blocks in order, at random within each."""
    stream = RandomStream(f"{layout.recipe.seed}|weighing")
    blocks = groupby(layout.recorded, key=lambda plot: plot.block)
    return [plot for _, plots in blocks for plot in stream.shuffled(list(plots))]


def _form(title: str, layout: Layout, plots: list[Plot], heads: list[str], words: str) -> Sheet:
    says = {
        "words": words,
        "heads": heads,
        "blocks": [
            {"name": f"Block {block}", "rows": [_row(plot) for plot in of_block]}
            for block, of_block in groupby(plots, key=lambda plot: plot.block)
        ],
        "losses": LOSSES,
        "seed": short(layout.recipe.seed, LONGEST_HEAD),
    }
    return Sheet("trial_forms.typ", title, says)


def _row(plot: Plot) -> list[str]:
    """Return a row's code, check character and plot number; no treatment, so that nobody expects anything."""
    return [plot.pot, check_character(plot.pot), f"{plot.number}"]
