"""The pedigree of a lot: its family drawn, every member with its tests, and the balance of every lot."""

from __future__ import annotations

from typing import Any

from wetfoot.answers.health_words import AUTHORITY, confirmation_words, confirming, found_words, how_words
from wetfoot.answers.pedigree import Member, Pedigree
from wetfoot.drawing.family import family_svg
from wetfoot.quantities import show
from wetfoot.sheets.press import LONGEST_CELL, Sheet, short
from wetfoot.stock.balance import GAP_SHARE, Balance
from wetfoot.stock.lots import day_of

LONGEST_TOLD = 160
MOST_MEMBERS = 200
MOST_GAPS = 40


def pedigree_sheet(found: Pedigree) -> Sheet:
    """Return the sheet of a lot's pedigree."""
    lot = found.members[0]
    members = found.members[:MOST_MEMBERS]
    says = {
        "lot": short(found.lot, LONGEST_CELL),
        "about": _told(lot),
        "against": [short(why, 2 * LONGEST_TOLD) for why in found.against],
        "members": [_member(member) for member in members],
        "more": len(found.members) - len(members),
        "balances": [_balance(found, balance) for balance in found.balances.values()],
        "unit": "lb" if found.plan.units == "US" else "kg",
        "flagged": [short(name, LONGEST_CELL) for name, b in found.balances.items() if b.flagged or b.overdrawn],
        "share": f"{100 * GAP_SHARE:g} %",
        "gaps": [short(words, 2 * LONGEST_TOLD) for words in found.gaps[:MOST_GAPS]],
        "authority": AUTHORITY,
    }
    return Sheet("pedigree.typ", "Pedigree of a lot", says, {"family": family_svg(found)})


def _member(member: Member) -> dict[str, Any]:
    repeated = confirming(member.tests)
    return {
        "kind": {"lot": "Lot", "batch": "Batch", "pots": "Pots"}[member.key[0]],
        "name": short(member.name, LONGEST_TOLD),
        "told": _told(member),
        "from": ", ".join(short(name, LONGEST_CELL) for _, name in member.parents),
        "tests": [
            [
                f"{day_of(test)}",
                short(test.subject, LONGEST_CELL),
                short(test.agent, LONGEST_CELL),
                short(how_words(test), LONGEST_TOLD),
                short(found_words(test), LONGEST_CELL),
                confirmation_words(test, repeated),
            ]
            for test in member.tests
        ],
    }


def _told(member: Member) -> str:
    """Return what is known of a member besides its tests, in one line."""
    lot = member.lot
    generation = f"generation {lot.generation}" if lot and lot.generation is not None else ""
    day = f"{'planted' if member.key[0] == 'pots' else 'of'} {member.day}" if member.day else "day not known"
    return short(", ".join(each for each in (generation, day, member.told) if each), LONGEST_TOLD)


def _balance(found: Pedigree, b: Balance) -> list[str]:
    masses = (b.in_kg, b.planted_kg, b.sold_kg, b.culled_kg, b.passed_on_kg, b.shrink_kg, b.in_store_kg, b.gap_kg)
    told = "more out than in" if b.overdrawn else "gap" if b.flagged else "open" if b.unweighed else "closes"
    cells = [show(kg, "mass", found.plan.units).rpartition(" ")[0] for kg in masses]
    return [short(b.lot, LONGEST_CELL), *cells, told]
