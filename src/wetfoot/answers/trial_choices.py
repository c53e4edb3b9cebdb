"""What each number of pieces is worth: net clean seed and margin per pot, litre, square metre and piece of seed."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from scipy import special

from wetfoot.answers.money import pot_items, seed_kg_per_pot
from wetfoot.answers.trace import SEED
from wetfoot.answers.trial_pieces import Pieces
from wetfoot.answers.trial_splits import Splits
from wetfoot.plan.model import Plan
from wetfoot.stock.money import Option
from wetfoot.trial.terms import Array
from wetfoot.water.nest import medium_volume_l

PIECE_KG = 0.05
DRAWS = 1000


@dataclass(frozen=True)
class Worth:
    """What a pot costs and its harvest is worth.

    Attributes:
        piece_kg: mass of a seed piece as planted.
        cutting: fraction of seed lost in cutting it.
        kept: fraction of the trial's harvest that is clean seed at planting: what a grower gets of a trial's yield,
            after culling and storage.
        farm: what a grower gets of a trial's yield, as a fraction; small plots tended by those who plan them yield more
            (CIMMYT 1988, From agronomic data to farmer recommendations, takes 5 to 30 % off; from memory).
        price: of a kilogram of clean seed; None if there is none.
        pot_cost: of a pot in a season without its seed; None if there are no prices.
        split_cost: of the vessels that a split pot takes along.
        medium_l: litres of medium in a pot; None if not known.
        ground_m2: ground of a pot with its share of the path; None if not known.
        currency: of the prices.
        told: where all this comes from, in words.
    """

    piece_kg: float = PIECE_KG
    cutting: float = 0.0
    kept: float = 1.0
    farm: float = 1.0
    price: float | None = None
    pot_cost: float | None = None
    split_cost: float = 0.0
    medium_l: float | None = None
    ground_m2: float | None = None
    currency: str = ""
    told: str = "no season was named: nothing is taken off for cutting, culling and storage, and there are no prices"

    @property
    def seed_kg(self) -> float:
        """Return the clean seed that a piece takes."""
        return self.piece_kg / (1.0 - self.cutting)

    @property
    def seed_g_harvest(self) -> float:
        """Return the harvest, g, of which the clean seed just makes up for a piece."""
        return 1000.0 * self.seed_kg / self.kept


def worth_of(plan: Plan, piece_kg: float | None = None) -> Worth:
    """Return what a pot costs and yields by a plan."""
    items, costs, goal = pot_items(plan), plan.costs, plan.goal
    pots = plan.pots
    return Worth(
        piece_kg=piece_kg or goal.piece_mass_kg,
        cutting=goal.loss_cutting,
        kept=goal.farm_factor * (1.0 - goal.loss_culling) * (1.0 - goal.loss_storage),
        farm=goal.farm_factor,
        price=costs.seed_per_kg,
        pot_cost=sum(value for name, value in items.items() if name != "seed planted") if items else None,
        split_cost=(costs.pot or 0.0) + (costs.basin or 0.0),
        medium_l=sum(bank.pots * medium_volume_l(plan.nests[bank.nest].shape) for bank in plan.banks) / pots,
        ground_m2=sum(bank.pots * bank.ground_per_pot_m2 for bank in plan.banks) / pots,
        currency=costs.currency,
        told=f"losses and prices of {plan.title}; {seed_kg_per_pot(plan, 1):.3g} kg of clean seed go into a piece",
    )


@dataclass(frozen=True)
class Choice:
    """One number of pieces: values with standard errors per pot; divide for litre, square metre and piece.

    Attributes:
        pieces: the number.
        harvest_g: fresh rhizome of a pot.
        harvest_se_g: its standard error.
        net_kg: clean seed of a pot less the seed planted.
        net_se_kg: its standard error.
        margin: money left of a pot; None without prices.
        margin_se: its standard error.
        split: share of pots that split; nan if not known.
    """

    pieces: int
    harvest_g: float
    harvest_se_g: float
    net_kg: float
    net_se_kg: float
    margin: float | None
    margin_se: float | None
    split: float


@dataclass(frozen=True)
class Choices:
    """All numbers of pieces that were tested, with what is needed to compare them.

    Attributes:
        choices: by rising number.
        t: half width of an interval in standard errors.
        drawn_g: harvests drawn again within the trial's uncertainty, shape (draws, choices).
        drawn_split: shares of split pots drawn so, nan where not known, shape (draws, choices).
        by_curve: whether the harvest is read off the curve, else the estimated means.
    """

    choices: tuple[Choice, ...]
    t: float
    drawn_g: Array
    drawn_split: Array
    by_curve: bool
    worth: Worth = field(default_factory=Worth)

    def best_by(self, short: str) -> Choice:
        """Return the best choice if this is what is short: pot, litre, m2, piece (net seed), or money."""
        if short == "money":
            return max((c for c in self.choices if c.margin is not None), key=lambda c: c.margin or 0.0)
        return max(self.choices, key=lambda c: c.net_kg / (c.pieces if short == "piece" else 1.0))

    @property
    def best_share(self) -> tuple[float, ...]:
        """Return the share of draws in which each number leaves the most clean seed of a pot."""
        spent = np.array([c.pieces for c in self.choices]) * self.worth.seed_kg
        best = np.argmax(self.worth.kept * self.drawn_g / 1000.0 - spent, axis=1)
        return tuple((np.bincount(best, minlength=len(self.choices)) / len(best)).tolist())

    def again(self) -> Iterator[tuple[Choice, ...]]:
        """Yield the choices with their harvests and split pots as drawn again, draw by draw."""
        for grams, split in zip(self.drawn_g, self.drawn_split, strict=True):
            yield tuple(
                replace(choice, harvest_g=float(g), split=float(s))
                for choice, g, s in zip(self.choices, grams, split, strict=True)
            )

    def at(self, pieces: int) -> Choice:
        """Return the choice of a number."""
        return next(choice for choice in self.choices if choice.pieces == pieces)


def choices_of(pieces: Pieces, splits: Splits | None, worth: Worth, alpha: float = 0.05) -> Choices:
    """Return what each whole number of pieces that was tested is worth.

    Args:
        pieces: the curve and means.
        splits: pots that split, if known.
        worth: of a pot.
        alpha: one less the confidence of intervals.
    """
    tested = [(at, int(p)) for at, p in enumerate(pieces.pieces) if p == int(p)]
    numbers = np.array([p for _, p in tested], dtype=float)
    if pieces.follows and pieces.curve is not None:
        harvest, covariance = _on_curve(pieces, numbers)
    else:
        places = [at for at, _ in tested]
        harvest, covariance = pieces.mean[places], pieces.covariance[np.ix_(places, places)]
    net = worth.kept * harvest / 1000.0 - numbers * worth.seed_kg
    random = np.random.default_rng(SEED)
    drawn_g = _drawn_means(harvest, covariance, pieces.df, random)
    errors = np.sqrt(np.diag(covariance))
    return Choices(
        tuple(
            _choice(int(p), float(y), float(se), float(n), splits, worth)
            for p, y, se, n in zip(numbers, harvest, errors, net, strict=True)
        ),
        float(special.stdtrit(pieces.df, 1.0 - alpha / 2.0)), drawn_g, _drawn_splits(splits, tested, random),
        pieces.follows, worth,
    )  # fmt: skip


def _choice(pieces: int, harvest: float, se: float, net: float, splits: Splits | None, worth: Worth) -> Choice:
    split = float("nan")
    if splits is not None and str(pieces) in splits.levels:
        split = splits.share(str(pieces))
    net_se = worth.kept * se / 1000.0
    margin = margin_se = None
    if worth.price is not None and worth.pot_cost is not None:
        broken = worth.split_cost * split if split == split else 0.0
        margin, margin_se = worth.price * net - worth.pot_cost - broken, worth.price * net_se
    return Choice(pieces, harvest, se, net, net_se, margin, margin_se, split)


def _on_curve(pieces: Pieces, numbers: Array) -> tuple[Array, Array]:
    """Return the curve at some numbers with its covariance by the delta method, g and g^2."""
    curve = pieces.curve
    assert curve is not None
    below = (curve.a + curve.b * numbers) ** 2
    slopes = np.column_stack([-numbers / below, -(numbers**2) / below])
    return pieces.expected(numbers), slopes @ curve.covariance @ slopes.T


def _drawn_means(mean: Array, covariance: Array, df: float, random: np.random.Generator) -> Array:
    """Return means drawn from the multivariate t of their estimates, shape (draws, k)."""
    values, vectors = np.linalg.eigh(covariance)
    root = vectors * np.sqrt(np.maximum(values, 0.0))
    normal = random.standard_normal((DRAWS, len(mean))) @ root.T
    return np.asarray(mean + normal * np.sqrt(df / random.chisquare(df, DRAWS))[:, None])


def _drawn_splits(splits: Splits | None, tested: list[tuple[int, int]], random: np.random.Generator) -> Array:
    """Return shares of split pots drawn from their beta distributions (Jeffreys' prior), shape (draws, k)."""
    drawn = np.full((DRAWS, len(tested)), np.nan)
    for column, (_, number) in enumerate(tested):
        if splits is not None and str(number) in splits.levels:
            at = splits.levels.index(str(number))
            k, n = float(splits.split[at]), float(splits.pots[at])
            drawn[:, column] = random.beta(k + 0.5, n - k + 0.5, DRAWS)
    return drawn


def option(choice: Choice, worth: Worth) -> Option:
    """Return a choice as it stands in the partial budget, split pots among its costs."""
    price = worth.price or 0.0
    broken = worth.split_cost * (choice.split if choice.split == choice.split else 0.0)
    cost = price * choice.pieces * worth.seed_kg + broken
    return Option(f"{choice.pieces}", cost, price * worth.kept * choice.harvest_g / 1000.0)
