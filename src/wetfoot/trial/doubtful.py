"""Read the rows of a trial one by one and list everything that is doubtful; no row is dropped."""

from __future__ import annotations

import math
from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from wetfoot.trial.columns import Columns, grams_in, plain, unit_in_head
from wetfoot.trial.designs import Layout
from wetfoot.trial.pot_codes import hold_against_layout, name_pots
from wetfoot.trial.pot_rows import IN, LOST, NOT_SAID, OUT, Doubt, PotRow, Rows, level_key
from wetfoot.trial.weights import LOSSES, loss_named, read_response

HEAVIEST_G = 50_000.0  # of what grew in one pot: common practice, no source
FAR_SD = 4.0


def read_rows(
    cells: Mapping[str, Sequence[str]],
    numbers: Sequence[int],
    found: Columns,
    levels: Mapping[str, Sequence[str]],
    layout: Layout | None,
    heaviest_g: float,
) -> tuple[list[PotRow], str, list[Doubt]]:
    """Return the rows, the unit of their values, and the doubts about them.

    Args:
        cells: cells by heading.
        numbers: number of each row in the file.
        found: which column holds what.
        levels: the levels that a factor may have, by name.
        layout: the layout, if there is one.
        heaviest_g: the mass in grams above which a weight is impossible.
    """
    response = found.roles["response"]
    pots = _pots(cells, found) or [f"row {number}" for number in numbers]
    typed = cells[response]
    table = Rows([PotRow(n, p, t, read_response(t)) for n, p, t in zip(numbers, pots, typed, strict=True)], response)
    unit = _values(table, heaviest_g)
    _losses(table, cells.get(found.roles.get("lost", ""), [""] * len(numbers)), found.roles.get("lost", ""))
    _labels(table, cells, found, levels)
    if "pot" in found.roles:
        name_pots(table, found.roles["pot"], layout)
    if layout:
        hold_against_layout(table, cells, found, layout)
    _duplicates(table, found.roles.get("pot", ""))
    return table.rows, unit, table.doubts


def _pots(cells: Mapping[str, Sequence[str]], found: Columns) -> list[str]:
    """Return the pots' codes, with check characters from a column of their own; nothing without a column of codes."""
    pots = cells[found.roles["pot"]] if "pot" in found.roles else []
    checks = next((cells[name] for name in cells if plain(name) in ("check", "checkcharacter")), [""] * len(pots))
    return [pot if pot.isdigit() else pot + check for pot, check in zip(pots, checks, strict=False)]


def outliers(rows: Sequence[PotRow], factors: Sequence[str], response: str) -> Iterator[Doubt]:
    """Yield the values more than 4 robust standard deviations from the median of their treatment; they stay in use.

    The robust deviation is 1.4826 times the median of what all pots lie off their treatments' medians, enlarged by
    sqrt(n / (n - treatments)) because those medians were fitted.

    Source: median absolute deviation, Hampel 1974, JASA 69:383-393 (from memory).
    """
    groups: dict[tuple[str, ...], list[PotRow]] = defaultdict(list)
    for row in rows:
        if row.state == "used":
            groups[tuple(row.labels.get(name, "") for name in factors)].append(row)
    used = sum(map(len, groups.values()))
    if used <= len(groups):
        return
    medians = {key: float(np.median([row.value for row in group])) for key, group in groups.items()}
    off = [abs(row.value - medians[key]) for key, group in groups.items() for row in group]
    sd = 1.4826 * float(np.median(off)) * math.sqrt(used / (used - len(groups)))
    for key, group in groups.items():
        for row in group:
            if sd > 0 and abs(row.value - medians[key]) > FAR_SD * sd:
                times = (row.value - medians[key]) / sd
                what = f"{abs(times):.1f} robust SD {'above' if times > 0 else 'below'} the median of its treatment"
                yield Doubt(row.number, row.pot, response, row.typed, what, IN)


def _values(table: Rows, heaviest_g: float) -> str:
    """Fill in the values, in grams where there are units; return the unit."""
    unit = unit_in_head(table.response)
    any_typed = any(row.reading.typed for row in table.rows)
    bare_g = grams_in(unit) if unit else None
    for row in table.rows:
        reading = row.reading
        row.value = reading.value if reading.typed or bare_g is None else reading.value * bare_g
        if reading.note:
            table.doubt(row, reading.note, IN)
        if reading.wrong:
            table.doubt(row, reading.wrong, OUT)
        elif math.isfinite(row.value):
            impossible = _impossible(row.value, unit is not None or any_typed, heaviest_g)
            if any_typed and unit is None and not reading.typed:
                impossible = "no unit, while other rows have one"
            if impossible:
                table.doubt(row, impossible, OUT)
    return "g" if unit or any_typed else ""


def _impossible(value: float, is_mass: bool, heaviest_g: float) -> str:
    if value < 0:
        return "negative"
    if is_mass and value == 0:
        return "nothing was weighed: a pot without yield needs a loss code"
    return f"above {heaviest_g:,.0f} g" if is_mass and value > heaviest_g else ""


def _losses(table: Rows, words: Sequence[str], column: str) -> None:
    """Fill in the loss codes; a pot that split, leaked or died may still have been weighed."""
    for row, word in zip(table.rows, words, strict=True):
        loss = loss_named(word)
        if loss is None:
            table.doubt(row, f"unknown loss code; known are {', '.join(LOSSES)}", OUT, column, word)
            loss = NOT_SAID
        weighed = math.isfinite(row.value)
        row.lost = loss or row.reading.loss
        if row.lost in ("stolen", "label lost", "not weighed") and weighed:
            table.doubt(row, f"has a value, though {row.lost}", OUT)
        elif row.lost == "dead" and weighed:
            table.doubt(row, "has a value, though dead", IN)
        elif not weighed and row.state == "used":
            row.state = "lost"
            if not row.lost:
                row.lost = NOT_SAID
                table.doubt(row, "blank, and no loss code says why", LOST)


def _labels(
    table: Rows, cells: Mapping[str, Sequence[str]], found: Columns, levels: Mapping[str, Sequence[str]]
) -> None:
    """Fill in the labels of factors and places; unknown or missing levels put a row out of use."""
    for role in ("block", "board", "position", "year"):
        for row, cell in zip(table.rows, cells.get(found.roles.get(role, ""), []), strict=False):
            row.labels[role] = cell
            if not cell and role != "position":
                table.doubt(row, f"no {role}", OUT, found.roles[role], cell)
    for name in found.factors:
        spelled = _spellings(cells[name], levels.get(name))
        for row, cell in zip(table.rows, cells[name], strict=True):
            level = spelled.get(level_key(cell))
            row.labels[name] = cell if level is None else level
            if level is None:
                known = ", ".join(sorted(set(spelled.values())))
                table.doubt(row, f"no level of {name} ({known})" if cell else f"no {name}", OUT, name, cell)
            elif level != cell:
                table.doubt(row, f"taken as {level!r}", IN, name, cell)


def _spellings(cells: Sequence[str], allowed: Sequence[str] | None) -> dict[str, str]:
    """Return the level by how it is written in small letters: those allowed, else all that stand there.

    Among levels that mostly stand there four times or more, one that stands there once is taken for a slip.
    """
    if allowed is not None:
        return {level_key(str(level)): str(level) for level in allowed}
    counts = Counter(cell for cell in cells if cell)
    groups: dict[str, list[str]] = defaultdict(list)
    for cell in counts:
        groups[level_key(cell)].append(cell)
    often = sorted(counts.values())[len(counts) // 2] >= 4 if counts else False
    return {
        small: max(spellings, key=lambda cell: counts[cell])
        for small, spellings in groups.items()
        if not (often and sum(counts[cell] for cell in spellings) == 1)
    }


def _duplicates(table: Rows, column: str) -> None:
    """Keep the first of rows that say the same of one pot; put all out of use where they differ."""
    groups: dict[tuple[str, ...], list[PotRow]] = defaultdict(list)
    for row in table.rows:
        if row.pot:
            groups[(row.labels.get("year", ""), row.pot)].append(row)
    for group in groups.values():
        same = len({(str(row.value), row.lost, *sorted(row.labels.items())) for row in group}) == 1
        for row in group[1:] if same else group if len(group) > 1 else []:
            others = ", ".join(str(other.number) for other in group if other is not row)
            what = (
                f"the same as row {group[0].number}"
                if same
                else f"the same pot stands in row {others}, with other values"
            )
            table.doubt(row, what, OUT, column, row.pot)
