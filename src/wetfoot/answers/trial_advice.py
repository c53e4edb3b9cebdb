"""The sentences of a recommendation: what was found, what decides, how sure it is, what was not tested."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from wetfoot.answers.money import LEAST_RETURN
from wetfoot.answers.trial_analysis import Findings
from wetfoot.answers.trial_cells import p_words
from wetfoot.answers.trial_choices import Choice, Choices, Worth
from wetfoot.quantities import System, convert, mass_kind, number_text, show, unit_label

SETTLED = {
    "not inferior": "it is shown to cost less than agreed, so it may be used",
    "inferior": "it costs more than agreed: leave it out",
    "undecided": "the trial is too small to settle it: keep to what you have until more pots were tested",
}


def found_words(found: Findings, choices: Choices, chosen: Choice, worth: Worth, system: System, place: str) -> str:
    """Return what the trial found for the chosen number, and what one piece more or less did."""
    years = found.table.years
    when = f"In {len(years)} years ({', '.join(years)})" if years else "In one season"
    pot = f" of {show(worth.medium_l, 'volume', system)} of medium" if worth.medium_l else ""
    half = choices.t * chosen.harvest_se_g
    text = (
        f"{when}{f' at {place}' if place else ''}, {chosen.pieces} seed pieces of "
        f"{show(worth.piece_kg, 'small_mass', system)} in a pot{pot} gave {_kg(chosen.harvest_g, system)} of fresh "
        f"rhizome ({found.confidence} interval {_range(chosen.harvest_g - half, chosen.harvest_g + half, system)})."
    )
    yearly = yearly_harvest_g(found, chosen.pieces)
    if len(yearly) > 1:
        text += f" Year by year: {', '.join(_kg(g, system) for g in yearly)}."
    assert found.curve is not None
    for (low, high), step in zip(pairwise(found.curve.pieces), found.curve.step, strict=True):
        if int(low) == chosen.pieces or int(high) == chosen.pieces:
            added = f"{_kg(step[0], system)} ({_range(step[1], step[2], system)})"
            text += f" Going from {low:g} to {high:g} pieces added {added}"
            above = next((c for c in choices.choices if c.pieces == high), None)
            seen = above is not None and above.split == above.split
            text += f"; with {high:g} pieces {100 * above.split:.0f} % of the pots split." if above and seen else "."
    return text


def yearly_harvest_g(found: Findings, pieces: int) -> list[float]:
    """Return the mean harvest of a pot with so many pieces in each year, g; empty with one year."""
    year = found.table.roles.year
    return [
        float(curve.mean[at])
        for curve in found.pieces
        if year and curve.where.startswith(f"{year} ")
        for at, number in enumerate(curve.pieces)
        if number == pieces
    ]


def short_words(choices: Choices, system: System) -> str:
    """Return which number is best by what is short."""
    pot, piece = choices.best_by("pot"), choices.best_by("piece")
    per_pot = _net(pot.net_kg, system)
    if pot.pieces == piece.pieces:
        return f"{pot.pieces} is best per pot, per volume of medium, per area and per piece of seed alike."
    return (
        f"If pots, medium, ground or labour are short, {_leave(pot.pieces)} the most: {per_pot} of clean seed a pot "
        f"after the seed planted. If clean seed is short, {_leave(piece.pieces)} the most for each piece "
        "planted: "
        f"{_net(piece.net_kg / piece.pieces, system)}, against {_net(pot.net_kg / pot.pieces, system)} with "
        f"{pot.pieces}."
    )


def other_lines(found: Findings, system: System) -> Iterator[tuple[str, str]]:
    """Yield a line for each other factor, the agreed margins among them.

    Args:
        found: the findings.
        system: units of the words.
    """
    margins = {m.margin.factor: m for m in found.margins}
    assert found.curve is not None
    for name, pair in found.pairs.items():
        if name == found.curve.factor:
            continue
        if name in margins:
            m = margins[name]
            yield (
                name.capitalize(),
                (
                    f"{m.margin.level} against {m.against}: {_signed(m.difference, system)} a pot, at worst "
                    f"{_signed(m.verdict.lower, system)}; a loss of {_kg(m.bearable, system)} was agreed to be "
                    f"bearable. Verdict: {SETTLED[m.verdict.verdict]}."
                ),
            )
        elif len(pair.levels) == 2:
            test = found.analysis.term(name)
            added = -float(pair.differences.value[0])
            ends = _range(-float(pair.high[0]), -float(pair.low[0]), system)
            shown = test.p is not None and test.p < found.wish.alpha
            yield (
                name.capitalize(),
                (
                    f"{pair.levels[1]} against {pair.levels[0]}: {_signed(added, system)} a pot ({ends}), "
                    + ("more than chance." if shown else "which may be chance; that is not the same as no difference.")
                ),
            )


def expect_words(chosen: Choice, choices: Choices, worth: Worth, system: System) -> str:
    """Return the clean seed and the money to expect of a pot."""
    half = choices.t * chosen.net_se_kg
    text = (
        f"{_net(chosen.net_kg, system)} of clean seed a pot ({_net_range(chosen.net_kg, half, system)}) beyond the "
        f"{_net(chosen.pieces * worth.seed_kg, system)} planted; {100 * (1 - worth.kept):.0f} % of the harvest is "
        f"taken off for {_taken_off(worth)}."
    )
    if chosen.margin is not None and chosen.margin_se is not None:
        half = choices.t * chosen.margin_se
        text += (
            f" That leaves {chosen.margin:,.2f} {worth.currency} a pot ({chosen.margin - half:,.2f} to "
            f"{chosen.margin + half:,.2f}) at {worth.price:g} {worth.currency}/kg."
        )
    return text + f" ({worth.told[0].upper()}{worth.told[1:]}.)"


def _taken_off(worth: Worth) -> str:
    if worth.farm >= 1.0:
        return "culling and storage"
    return (
        f"culling and storage, {100 * (1 - worth.farm):.0f} % of it first because growers reach less than a trial (a "
        "rule of thumb; your own records decide: farm_factor in the plan)"
    )


def change_words(choices: Choices, chosen: Choice, found: Findings, system: System) -> str:
    """Return what would change the advice."""
    worth = choices.worth
    below = [c for c in choices.choices if c.pieces < chosen.pieces]
    above = [c for c in choices.choices if c.pieces > chosen.pieces]
    parts = []
    if below and worth.price is not None:
        gain = worth.price * worth.kept * (chosen.harvest_g - below[-1].harvest_g) / 1000.0
        each = gain / (chosen.pieces - below[-1].pieces)
        parts.append(
            f"Plant {below[-1].pieces} once a seed piece is worth more than {each / (1 + LEAST_RETURN):,.2f} "
            f"{worth.currency} to you elsewhere; now it is {worth.price * worth.seed_kg:,.2f}."
        )
    if above:
        gain_kg = worth.kept * (above[0].harvest_g - chosen.harvest_g) / 1000.0
        cost_kg = (above[0].pieces - chosen.pieces) * worth.seed_kg
        parts.append(
            f"{above[0].pieces} would add {_mass(gain_kg, system)} of clean seed for {_mass(cost_kg, system)} planted: "
            "worth it where seed is plentiful and pots are few" + (" and do not split." if found.splits else ".")
        )
    else:
        parts.append("The trial did not go beyond this number: test more pieces before planting more.")
    return " ".join(parts)


def sure_words(found: Findings, choices: Choices, number: int, again: float | None) -> str:
    """Return how far the advice can be trusted, years and lost pots with it.

    Args:
        found: the findings.
        choices: what each number is worth.
        number: recommended.
        again: share of draws within the trial's uncertainty in which money advises the same, if there are prices.
    """
    shares = [
        f"{c.pieces} in {100 * s:.0f}" for c, s in zip(choices.choices, choices.best_share, strict=True) if s >= 0.005
    ]
    same = f"money gives the same advice in {100 * again:.0f}; " if again is not None else ""
    text = (
        f"Of 100 trials drawn again within this one's uncertainty, {same}the most clean seed of a pot comes from "
        f"{', '.join(shares)}."
    )
    years = found.analysis.years
    assert found.curve is not None
    if years and found.curve.factor in years.random_tests:
        test = years.random_tests[found.curve.factor]
        holds = "holds" if test.p < found.wish.alpha else "cannot be shown to hold"
        text += f" That pieces matter {holds} in years like these, too (p {p_words(test.p)})."
    elif not found.table.years:
        text += " One season is not several: other years may differ more than this trial shows."
    lost = len(found.analysis.lost)
    reasons = ", ".join(f"{r} {n}" for r, n in _reasons(found))
    return f"{text} {lost} of {len(found.table.y)} pots had no weight{f' ({reasons})' if lost else ''}."


def _reasons(found: Findings) -> list[tuple[str, int]]:
    told = [found.table.lost[i] or "left out" for i in found.analysis.lost]
    return [(reason, told.count(reason)) for reason in dict.fromkeys(told)]


def not_tested(found: Findings) -> str:
    """Return what the trial says nothing about."""
    assert found.curve is not None
    low, high = found.curve.pieces.min(), found.curve.pieces.max()
    return (
        f"Fewer than {low:g} or more than {high:g} pieces; other pot sizes, media, piece masses, cultivars and sites; "
        "medium used a second time."
    )


def _leave(pieces: int) -> str:
    return f"{pieces} piece leaves" if pieces == 1 else f"{pieces} pieces leave"


def _kg(grams: float, system: System) -> str:
    return f"{float(convert(grams / 1000.0, 'mass', system)):.2f} {unit_label('mass', system)}"


def _range(low_g: float, high_g: float, system: System) -> str:
    low, high = (float(convert(g / 1000.0, "mass", system)) for g in (low_g, high_g))
    return f"{low:.2f} to {high:.2f}"


def _net(kg: float, system: System) -> str:
    return f"{number_text(float(convert(kg, 'mass', system)))} {unit_label('mass', system)}"


def _net_range(kg: float, half: float, system: System) -> str:
    return f"{float(convert(kg - half, 'mass', system)):.2f} to {float(convert(kg + half, 'mass', system)):.2f}"


def _mass(kg: float, system: System) -> str:
    return show(kg, mass_kind(kg, system), system)


def _signed(grams: float, system: System) -> str:
    return f"{float(convert(grams / 1000.0, 'mass', system)):+.2f} {unit_label('mass', system)}"
