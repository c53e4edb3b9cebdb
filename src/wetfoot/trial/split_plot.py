"""How many boards, pots and degrees of freedom a split plot in blocks has, before any layout is drawn."""

from __future__ import annotations

import math
from dataclasses import dataclass, field


@dataclass(frozen=True)
class SplitPlot:
    """A split plot in complete blocks: some factors go on whole boards, the others on the pots of every board.

    With no board factor it is a randomised complete block design in which the block is the board.

    Attributes:
        board_factors: name and number of levels of each factor that a whole board carries, e.g. {"gutter": 2}.
        pot_factors: name and number of levels of each factor that varies from pot to pot.
        blocks: complete blocks in one year.
        boards_per_treatment: boards in a block that carry the same board treatment.
        pots_per_treatment: pots on a board that carry the same pot treatment.
        years: years in which the whole trial stands, each with new blocks and a new randomisation.
    """

    board_factors: dict[str, int] = field(default_factory=dict)
    pot_factors: dict[str, int] = field(default_factory=dict)
    blocks: int = 4
    boards_per_treatment: int = 1
    pots_per_treatment: int = 1
    years: int = 1

    def __post_init__(self) -> None:
        """Refuse counts that are not possible."""
        levels = {**self.board_factors, **self.pot_factors}
        for name in ("blocks", "boards_per_treatment", "pots_per_treatment", "years"):
            if getattr(self, name) < 1:
                raise ValueError(f"{name} must be >= 1, not {getattr(self, name)}")
        for factor, count in levels.items():
            if count < 2:
                raise ValueError(f"factor {factor!r} must have at least 2 levels, not {count}")
        if not levels or len(levels) < len(self.board_factors) + len(self.pot_factors):
            raise ValueError("a layout needs at least one factor, and no name in both board_factors and pot_factors")

    @property
    def board_treatments(self) -> int:
        """Return the combinations of the board factors."""
        return math.prod(self.board_factors.values())

    @property
    def pot_treatments(self) -> int:
        """Return the combinations of the pot factors."""
        return math.prod(self.pot_factors.values())

    @property
    def pots_per_board(self) -> int:
        """Return the pots on one board."""
        return self.pot_treatments * self.pots_per_treatment

    @property
    def boards(self) -> int:
        """Return the boards of all blocks and years."""
        return self.years * self.blocks * self.board_treatments * self.boards_per_treatment

    @property
    def pots(self) -> int:
        """Return the pots of all years."""
        return self.boards * self.pots_per_board

    @property
    def board_df(self) -> int:
        """Return the degrees of freedom of the board error: boards less blocks less treatments plus one, per year."""
        return self.boards - self.years * (self.blocks + self.board_treatments - 1)

    @property
    def pot_df(self) -> int:
        """Return the degrees of freedom of the pot error: what the pot terms leave within boards, years fixed."""
        return self.boards * (self.pots_per_board - 1) - self.years * self.board_treatments * (self.pot_treatments - 1)
