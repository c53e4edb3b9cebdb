"""The list for a look at every pot: those on hold or suspect first, tick boxes, and which pots to sample."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from wetfoot.answers.health_words import AUTHORITY
from wetfoot.answers.inspection import SIGNS, WARM_C, Inspection
from wetfoot.answers.pedigree import pots_in_words
from wetfoot.drawing.svg import clean
from wetfoot.quantities import show, unit_label
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short

LONGEST_WHY = 260
LONGEST_CODE = 20


def inspection_sheet(found: Inspection) -> Sheet:
    """Return the inspection list of a day."""
    sample, warm = found.sample, show(WARM_C, "temperature", found.plan.units)
    says = {
        "on": f"{found.on}",
        "pots": sum(len(pots) for _, pots in found.banks) + len(found.doubtful),
        "signs": [[sign.name, sign.seen, sign.check.format(warm=warm), sign.source] for sign in SIGNS],
        "degrees": unit_label("temperature", found.plan.units),
        "reasons": _reasons(found.doubtful),
        "doubtful": [[_code(pot), ""] for pot, _ in found.doubtful],
        "banks": [
            {"name": short(bank, LONGEST_CELL), "rows": [[_code(pot), _mark(found, pot)] for pot in pots]}
            for bank, pots in found.banks
        ],
        "sample": _sample(found) if sample else {},
        "authority": AUTHORITY,
    }
    return Sheet("inspection.typ", "Inspection list", says)


def _code(pot: str) -> str:
    """Return a pot's code; of a long one both ends, as its number stands last."""
    tidy = clean(pot)
    return tidy if len(tidy) <= LONGEST_CODE else f"{tidy[: LONGEST_CODE - 9]}…{tidy[-8:]}"


def _mark(found: Inspection, pot: str) -> str:
    """Return the number of the test that a pot's sample goes into, empty if none is taken."""
    number = found.sample.pool_of(pot) if found.sample else None
    return "" if number is None else f"{number}"


def _reasons(doubtful: Iterable[tuple[str, str]]) -> list[list[str]]:
    """Return each reason once, with the pots that it is about."""
    found: dict[str, list[str]] = {}
    for pot, why in doubtful:
        found.setdefault(why, []).append(pot)
    return [[short(pots_in_words(pots), LONGEST_WHY), short(why, LONGEST_WHY)] for why, pots in found.items()]


def _sample(found: Inspection) -> dict[str, Any]:
    sample = found.sample
    assert sample is not None
    answer = sample.answer
    return {
        "state": answer.state,
        "words": answer.words,
        "warnings": list(answer.warnings),
        "seed": short(sample.seed, LONGEST_CELL),
        "pools": [[f"{number}", ", ".join(short(pot, LONGEST_CELL) for pot in pool), ""]
                  for number, pool in enumerate(sample.pools, 1)] if any(len(p) > 1 for p in sample.pools) else [],
        "by_bank": [
            [short(bank, LONGEST_CELL), short(pots_in_words(taken), 400)]
            for bank, pots in found.banks
            if (taken := [pot for pot in pots if sample.pool_of(pot)])
        ],
    }  # fmt: skip
