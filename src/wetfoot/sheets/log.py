"""The paper form of the season's log: one row a visit, wide enough for a wet hand."""

from __future__ import annotations

from wetfoot.answers.dossier import Dossier
from wetfoot.quantities import unit_label
from wetfoot.sheets.press import Sheet, short
from wetfoot.sheets.visits import day_text

BANKS_BESIDE_TANK = 4  # that fit on the page with the tank's columns
BANKS_A_PAGE = 7
LONGEST_NAME = 18


def log(dossier: Dossier) -> Sheet:
    """Return the paper form of the log."""
    plan, system = dossier.plan, dossier.plan.units
    names = [short(bank.name, LONGEST_NAME) for bank in plan.banks]
    beside = names if len(names) <= BANKS_BESIDE_TANK else []
    rest = [] if beside else [names[at : at + BANKS_A_PAGE] for at in range(0, len(names), BANKS_A_PAGE)]
    kinds = {"volume": "volume", "stock": "small_volume", "ec": "conductivity", "level": "depth", "rain": "rain",
             "temperature": "temperature"}  # fmt: skip
    says = {
        "days": [[day_text(each.on, system), f"{each.on.year}"] for each in dossier.calendar if each.visit],
        "units": {name: unit_label(kind, system) for name, kind in kinds.items()},
        "beside": beside,
        "rest": rest,
    }
    return Sheet("log.typ", "Log", says)
