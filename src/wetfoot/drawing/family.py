"""The family of a lot as a drawing: the source above, the lot at the foot, lines for what came out of what."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from wetfoot.answers.health_words import standing_alarms
from wetfoot.answers.pedigree import Key, Member, Pedigree
from wetfoot.drawing.svg import (
    HAIR,
    INK,
    MEDIUM,
    PAPER,
    QUIET,
    SOLUTION,
    WATER_LINE,
    Point,
    box,
    element,
    fit,
    line,
    page,
    words,
)

WIDTH, EDGE = 540.0, 12.0
BOX_HEIGHT, ROW, GAP = 46.0, 78.0, 10.0
WIDEST_BOX, HEAD = 168.0, 30.0
MOST_A_ROW, MOST_ROWS = 5, 9
FILLS = {"lot": PAPER, "batch": MEDIUM, "pots": SOLUTION}


def family_svg(found: Pedigree) -> str:
    """Return the family of a lot; where a row has more than fits, it says how many more there are."""
    last = max(member.steps for member in found.members)
    shown = [step for step in range(last, -1, -1) if step < MOST_ROWS]
    rows = [[member for member in found.members if member.steps == step] for step in shown]
    places = {member.key: at for index, row in enumerate(rows) for member, at in _row(row, index)}
    height = HEAD + ROW * (len(rows) - 1) + BOX_HEIGHT + EDGE
    told = f"{len(found.members)} lots, batches and groups of pots, over {last + 1} steps"
    parts = [words(EDGE, 18, f"Where {fit(found.lot, 130, 13)} came from", 13, weight="bold"), *_key()]
    if last >= MOST_ROWS:
        parts.append(words(EDGE, HEAD, f"and {last + 1 - MOST_ROWS} steps before", 9, fill=QUIET))
    parts += [part for row in rows for member in row for part in _lines(member, places)]
    parts += [part for row in rows for member in row if member.key in places for part in _box(member, places)]
    parts += [part for index, row in enumerate(rows) for part in _more(row, index)]
    return page(WIDTH, height, f"Where {found.lot} came from", told, parts)


def _row(row: Sequence[Member], index: int) -> Iterator[tuple[Member, Point]]:
    """Yield the members of a row that are drawn, with the middle of the upper edge of each box."""
    y = HEAD + ROW * index
    count = min(len(row), MOST_A_ROW)
    for place, member in enumerate(row[:MOST_A_ROW]):
        yield member, (EDGE + (WIDTH - 2 * EDGE) * (place + 0.5) / count, y)


def _box_width(row_length: int) -> float:
    return min(WIDEST_BOX, (WIDTH - 2 * EDGE) / max(1, min(row_length, MOST_A_ROW)) - GAP)


def _box(member: Member, places: dict[Key, Point]) -> Iterator[str]:
    (x, y), row = places[member.key], [key for key, at in places.items() if at[1] == places[member.key][1]]
    width = _box_width(len(row))
    left, room = x - width / 2, width - 12
    yield box(left, y, width, BOX_HEIGHT, FILLS[member.key[0]], INK)
    yield words(x, y + 15, fit(member.name, room, 10.5), 10.5, "middle", weight="bold")
    yield words(x, y + 28, fit(_kind(member), room, 9), 9, "middle", QUIET)
    yield words(x, y + 40, fit(_tested(member), room, 9), 9, "middle", INK)
    if standing_alarms(member.tests):
        yield box(left, y, 5, BOX_HEIGHT, INK, INK)


def _kind(member: Member) -> str:
    kind: str = member.key[0]
    if member.lot and member.lot.generation is not None:
        kind = f"lot, generation {member.lot.generation}"
    day = f", {member.day}" if member.day else ""
    return f"{kind}{day}" if kind != "pots" else f"planted{day}"


def _tested(member: Member) -> str:
    if not member.tests:
        return "not tested"
    alarms = standing_alarms(member.tests)
    if alarms:
        return f"{alarms[-1].result}: {alarms[-1].agent}"
    count = len(member.tests)
    return f"not detected in {count} test{'' if count == 1 else 's'}"


def _lines(member: Member, places: dict[Key, Point]) -> Iterator[str]:
    if member.key not in places:
        return
    x, y = places[member.key]
    for parent in member.parents:
        if parent in places:
            above = places[parent]
            yield line((above[0], above[1] + BOX_HEIGHT), (x, y), WATER_LINE, 1.2)


def _more(row: Sequence[Member], index: int) -> Iterator[str]:
    if len(row) > MOST_A_ROW:
        told = f"and {len(row) - MOST_A_ROW} more beside these: see the table"
        yield words(WIDTH - EDGE, HEAD + ROW * index + BOX_HEIGHT + 12, told, 9, "end", QUIET)


def _key() -> Iterator[str]:
    x = WIDTH - EDGE - 214
    for label, fill in (("lot", FILLS["lot"]), ("batch", FILLS["batch"]), ("pots", FILLS["pots"])):
        yield element("rect", x=x, y=9, width=11, height=11, fill=fill, stroke=HAIR, stroke_width=0.8)
        yield words(x + 15, 18, label, 9.5, fill=QUIET)
        x += 46
    yield box(x, 9, 5, 11, INK, INK)
    yield words(x + 9, 18, "positive or unclear", 9.5, fill=QUIET)
