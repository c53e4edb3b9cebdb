"""What each number of pieces is worth, as tables in a person's units."""

from __future__ import annotations

from wetfoot.answers.trial_cells import ReportTable
from wetfoot.answers.trial_choices import Choices, Worth, option
from wetfoot.quantities import System, convert, unit_label
from wetfoot.stock.money import partial_budget


def seed_table(choices: Choices, system: System) -> ReportTable:
    """Return net clean seed per pot, volume of medium, area and piece, with the interval of a pot's."""
    mass, worth = unit_label("mass", system), choices.worth
    rows = []
    for c, share in zip(choices.choices, choices.best_share, strict=True):
        net, half = (float(convert(kg, "mass", system)) for kg in (c.net_kg, choices.t * c.net_se_kg))
        rows.append((c.pieces, net, net - half, net + half, *_per(net, worth, system), net / c.pieces, 100 * share,
                     100 * c.split))  # fmt: skip
    heads = ("pieces", "a pot", "from", "to", *_per_heads(worth, system), "a piece", "most in % of draws", "% split")
    kinds = ("df", "n2", "n2", "n2", *_per_kinds(worth), "n2", "n0", "n0")
    note = "Harvest less culling, storage and the seed planted. Pots alike: per volume and per area rank as per pot."
    return ReportTable(f"Net clean seed, {mass}", heads, tuple(rows), kinds, note)


def money_table(choices: Choices, system: System) -> list[ReportTable]:
    """Return the margin per pot, volume, area and piece with the return on the last money; none without prices."""
    worth = choices.worth
    if worth.price is None or worth.pot_cost is None:
        return []
    steps = {int(step.option.name): step for step in partial_budget([option(c, worth) for c in choices.choices])}
    rows = []
    for c in choices.choices:
        margin, half = c.margin or 0.0, choices.t * (c.margin_se or 0.0)
        last = steps[c.pieces].marginal_return
        rows.append((c.pieces, margin, margin - half, margin + half, *_per(margin, worth, system), margin / c.pieces,
                     None if last is None else 100 * last))  # fmt: skip
    heads = ("pieces", "a pot", "from", "to", *_per_heads(worth, system), "a piece", "return on the last money, %")
    note = "Clean seed at its price less all costs of a pot, its seed and the vessels of pots that split."
    return [
        ReportTable(
            f"Margin, {worth.currency}",
            heads,
            tuple(rows),
            ("df", "n2", "n2", "n2", *_per_kinds(worth), "n2", "n0"),
            note,
        )
    ]


def _per(value: float, worth: Worth, system: System) -> list[float]:
    sizes = ((worth.medium_l, "volume"), (worth.ground_m2, "area"))
    return [value / float(convert(size, kind, system)) for size, kind in sizes if size]


def _per_heads(worth: Worth, system: System) -> list[str]:
    sizes = ((worth.medium_l, "volume"), (worth.ground_m2, "area"))
    return [f"a {unit_label(kind, system)}" for size, kind in sizes if size]


def _per_kinds(worth: Worth) -> list[str]:
    return [kind for size, kind in ((worth.medium_l, "n3"), (worth.ground_m2, "n2")) if size]
