"""What clean seed costs and what a choice is worth, in whatever currency the prices are."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass


def yearly_cost(price: float, rate: float, years: float) -> float:
    """Return the equivalent annual cost of something that lasts: P i / (1 - (1 + i)^-k).

    >>> round(yearly_cost(10.0, 0.08, 5), 6)
    2.504565
    """
    if years <= 0 or price < 0 or rate < 0:
        raise ValueError("years must be above 0, price and rate 0 or more")
    return price / years if rate == 0 else price * rate / (1.0 - (1.0 + rate) ** -years)


@dataclass(frozen=True)
class Option:
    """A choice with what it costs beyond the others and what it is worth, per pot or per whatever is compared."""

    name: str
    cost: float
    benefit: float


@dataclass(frozen=True)
class Step:
    """A choice in a partial budget: its margin, whether a cheaper one is better, and what the last money brought.

    ``marginal_return`` is the gain over the next cheaper choice that is not dominated, per money spent more; None
    for the cheapest and for dominated ones.
    """

    option: Option
    margin: float
    dominated: bool
    marginal_return: float | None


def partial_budget(options: Sequence[Option]) -> list[Step]:
    """Return the choices by rising cost with dominance and marginal returns.

    CIMMYT (1988), From agronomic data to farmer recommendations: a choice is dominated if one that costs no more
    has at least its net benefit.
    """
    steps: list[Step] = []
    last: Option | None = None
    for option in sorted(options, key=lambda each: (each.cost, -each.benefit)):
        margin = option.benefit - option.cost
        if last is None:
            steps.append(Step(option, margin, False, None))
            last = option
            continue
        gain = margin - (last.benefit - last.cost)
        if gain <= 0:
            steps.append(Step(option, margin, True, None))
            continue
        more = option.cost - last.cost
        steps.append(Step(option, margin, False, gain / more if more > 0 else float("inf")))
        last = option
    return steps


def recommended(steps: Sequence[Step], least_return: float = 1.0) -> Step:
    """Return the dearest choice whose every step up brought at least this return: 1 is 100 %."""
    best = steps[0]
    for step in steps[1:]:
        if step.dominated:
            continue
        if step.marginal_return is None or step.marginal_return < least_return:
            break
        best = step
    return best


def break_even_yield_kg(pot_cost: float, seed_price: float, kept_fraction: float) -> float:
    """Return the harvest of a pot whose clean seed just pays for the pot."""
    if seed_price <= 0 or not 0.0 < kept_fraction <= 1.0:
        raise ValueError("seed_price must be above 0, kept_fraction above 0 and at most 1")
    return pot_cost / (seed_price * kept_fraction)


@dataclass(frozen=True)
class Swing:
    """What a result comes to at the low and the high end of one input."""

    name: str
    at_low: float
    at_high: float

    @property
    def width(self) -> float:
        """How far this input moves the result."""
        return abs(self.at_high - self.at_low)


def swings(
    result: Callable[[Mapping[str, float]], float],
    middle: Mapping[str, float],
    ranges: Mapping[str, tuple[float, float]],
) -> list[Swing]:
    """Return how far each input alone moves a result, the widest first; all others stay at their middle."""
    found = [
        Swing(name, result({**middle, name: low}), result({**middle, name: high}))
        for name, (low, high) in ranges.items()
    ]
    return sorted(found, key=lambda swing: -swing.width)
