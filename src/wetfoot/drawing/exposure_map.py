"""The bench from above with every pot: which is the suspect, which were exposed, which are clear."""

from __future__ import annotations

from wetfoot.answers.exposure import Exposure
from wetfoot.drawing.svg import INK, PAPER, QUIET, SOLUTION, WATER_LINE, box, element, fit, line, page, words

LEFT, TOP, STEP, ROW = 128.0, 64.0, 30.0, 46.0
MOST_A_ROW = 18
RADIUS = 10.0


def exposure_map_svg(found: Exposure) -> str:
    """Return the bench from above: a cross is the suspect, a filled square exposed, an open circle not exposed."""
    rows = [
        (bank.name if start == 0 else "", list(range(start + 1, min(start + MOST_A_ROW, bank.pots) + 1)), bank.name)
        for bank in found.plan.banks
        for start in range(0, bank.pots, MOST_A_ROW)
    ]
    widest = max(len(numbers) for _, numbers, _ in rows)
    width, height = max(LEFT + STEP * widest + 20, 420), TOP + ROW * len(rows) + 40
    parts = [
        words(12, 20, f"Exposed by {fit(found.suspect, 200, 15)}", 15, weight="bold"),
        words(12, 37, f"Each row shares one water. Since {found.since}; disease {found.agent}.", 10.5, fill=QUIET),
    ]
    for index, (shown, numbers, bank) in enumerate(rows):
        y = TOP + ROW * index + 14
        right = LEFT + STEP * len(numbers)
        parts += [box(LEFT - 18, y - 16, right - LEFT + 6, 32, SOLUTION), words(12, y + 4, fit(shown, 100), 11.5)]
        parts.append(line((LEFT - 18, y), (right - 12, y), WATER_LINE, 1.0))
        for at, number in enumerate(numbers):
            parts += _pot(found, f"{bank} {number}", LEFT + STEP * at, y, number)
    parts += _key(TOP + ROW * len(rows) + 18)
    return page(width, height, f"Exposed by {found.suspect}", found.answer.words, parts)


def _pot(found: Exposure, code: str, x: float, y: float, number: int) -> list[str]:
    label = words(x, y + 25, f"{number}", 9, "middle", QUIET)
    if code == found.suspect:
        return [*_square(x, y, INK), *_cross(x, y), label]
    if code in found.pots:
        return [*_square(x, y, INK), label]
    return [element("circle", cx=x, cy=y, r=RADIUS, fill=PAPER, stroke=INK, stroke_width=1.2), label]


def _square(x: float, y: float, fill: str) -> list[str]:
    return [box(x - 9, y - 9, 18, 18, fill, INK)]


def _cross(x: float, y: float) -> list[str]:
    return [line((x - 5, y - 5), (x + 5, y + 5), PAPER, 2.4), line((x - 5, y + 5), (x + 5, y - 5), PAPER, 2.4)]


def _key(y: float) -> list[str]:
    return [
        *_square(24, y, INK),
        *_cross(24, y),
        words(40, y + 4, "suspect", 11),
        *_square(120, y, INK),
        words(136, y + 4, "exposed: hold", 11),
        element("circle", cx=238, cy=y, r=RADIUS, fill=PAPER, stroke=INK, stroke_width=1.2),
        words(254, y + 4, "not exposed", 11),
    ]
