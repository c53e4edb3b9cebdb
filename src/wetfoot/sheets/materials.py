"""The bill of materials, by group."""

from __future__ import annotations

from itertools import groupby

from wetfoot.answers.dossier import Dossier
from wetfoot.answers.materials import Item
from wetfoot.plan.model import Plan
from wetfoot.sheets.press import Sheet


def materials(dossier: Dossier) -> Sheet:
    """Return the bill of materials."""
    plan, found = dossier.plan, dossier.bill
    ordered = sorted(found.items, key=lambda item: item.group)  # stable: within a group as they came
    says = {
        "groups": [
            {"name": name, "items": [_row(plan, item) for item in items]}
            for name, items in groupby(ordered, key=lambda item: item.group)
        ],
        "currency": plan.costs.currency,
        "total": f"{found.total.value:,.2f} {plan.costs.currency}",
        "priced": any(item.price is not None for item in found.items),
        "unpriced": found.unpriced,
    }
    return Sheet("materials.typ", "Materials", says)


def _row(plan: Plan, item: Item) -> list[str]:
    cost = "" if item.cost is None else f"{item.cost:,.2f}"
    price = "" if item.price is None else item.price_text(plan.units, plan.costs.currency)
    return [item.name, item.size, item.amount_text(plan.units), price, cost]
