"""The few pieces of SVG that the drawings need: escaped elements, text whose width is known, a page.

Only presentation attributes are used, no ids, styles or scripts, so that many drawings can stand in one page.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from html import escape
from string import digits

Point = tuple[float, float]

FONT = "'Libertinus Serif', 'Linux Libertine O', 'Times New Roman', 'Liberation Serif', serif"
TEXT_SIZE = 10.5

# One calm palette for all drawings. The shades differ in lightness too, so that they part in grey print.
PAPER = "#ffffff"
INK = "#33302b"
QUIET = "#6f6a61"
HAIR = "#b9b3a7"
WALL = "#55504a"
SOLUTION = "#b4d6e6"
WATER_LINE = "#1f6387"
MEDIUM = "#f0e6d2"
SOAKED = "#a3b8b4"
GRAIN = "#7d6845"
WOOD = "#cbb089"

# Widths in em that no letter of its kind exceeds in the usual text faces (Libertinus Serif, Times).
_EM = {
    letter: em
    for letters, em in (("fijlrtI.,:;'|!()[]/- ·", 0.38), ("mw", 0.8), ("MW@%—…½ÆŒ", 1.0))
    for letter in letters
}
_NOT_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def clean(text: str) -> str:
    """Return a text on one line, without the characters that XML 1.0 does not allow."""
    return " ".join(_NOT_XML.sub("", text).split())


def element(tag: str, content: str = "", **attributes: str | float | None) -> str:
    """Return an element; ``content`` is markup, attributes are escaped, numbers are rounded to hundredths.

    >>> element("line", x1=0, y1=1 / 3, stroke_width=0.5)
    '<line x1="0" y1="0.33" stroke-width="0.5"/>'
    """
    written = "".join(
        f' {name.rstrip("_").replace("_", "-")}="{escape(_attribute(value))}"'
        for name, value in attributes.items()
        if value is not None
    )
    return f"<{tag}{written}>{content}</{tag}>" if content else f"<{tag}{written}/>"


def _attribute(value: str | float) -> str:
    return value if isinstance(value, str) else number(value)


def number(value: float) -> str:
    """Return a coordinate rounded to hundredths, as short as can be."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def _em(letter: str) -> float:
    if letter in _EM:
        return _EM[letter]
    if unicodedata.east_asian_width(letter) in "WF":
        return 1.0
    return 0.5 if letter in digits else 0.56 if letter.islower() else 0.76


def text_width(text: str, size: float = TEXT_SIZE) -> float:
    """Return a width that a text does not exceed in the usual text faces, in the unit of ``size``."""
    return size * sum(_em(letter) for letter in text)


def fit(text: str, width: float, size: float = TEXT_SIZE) -> str:
    """Return a cleaned text, shortened with an ellipsis where it is wider than ``width``."""
    text = clean(text)
    if text_width(text, size) <= width:
        return text
    while text and text_width(text + "…", size) > width:
        text = text[:-1]
    return text.rstrip() + "…"


def words(
    x: float,
    y: float,
    text: str,
    size: float = TEXT_SIZE,
    anchor: str = "start",
    fill: str = INK,
    weight: str | None = None,
) -> str:
    """Return a line of text with its baseline at y; ``anchor`` is start, middle or end."""
    start = None if anchor == "start" else anchor
    content = escape(clean(text), quote=False)
    return element("text", content, x=x, y=y, font_size=size, text_anchor=start, fill=fill, font_weight=weight)


def line(start: Point, end: Point, stroke: str = INK, width: float = 0.6, dash: str | None = None) -> str:
    """Return a straight line."""
    return path([start, end], stroke=stroke, width=width, dash=dash)


def path(
    points: Iterable[Point],
    closed: bool = False,
    fill: str = "none",
    stroke: str = "none",
    width: float = 0.6,
    dash: str | None = None,
) -> str:
    """Return a path of straight lines through the points."""
    d = "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points) + ("Z" if closed else "")
    drawn = stroke != "none"
    return element(
        "path",
        d=d,
        fill=fill,
        stroke=stroke if drawn else None,
        stroke_width=width if drawn else None,
        stroke_dasharray=dash,
        stroke_linejoin="round" if drawn else None,
    )


def box(x: float, y: float, width: float, height: float, fill: str = PAPER, stroke: str = "none") -> str:
    """Return a rectangle by its upper left corner."""
    corners = [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]
    return path(corners, closed=True, fill=fill, stroke=stroke)


def dot(at: Point, radius: float = 1.3, fill: str = INK) -> str:
    """Return a filled circle."""
    return element("circle", cx=at[0], cy=at[1], r=radius, fill=fill)


def water_mark(at: Point, stroke: str = WATER_LINE) -> str:
    """Return the draughtsman's mark of a water level: a triangle standing on it, two strokes below."""
    x, y = at
    triangle = path([(x - 3, y - 5), (x + 3, y - 5), (x, y - 0.5)], closed=True, fill=PAPER, stroke=stroke)
    strokes = (line((x - r, y + d), (x + r, y + d), stroke) for r, d in ((2.4, 1.8), (1.1, 3.4)))
    return triangle + "".join(strokes)


def page(width: float, height: float, title: str, description: str, parts: Iterable[str]) -> str:
    """Return a standalone SVG with a white ground, a title and a description for those who cannot see it."""
    heading = element("title", escape(clean(title), quote=False))
    told = element("desc", escape(clean(description), quote=False))
    body = "\n".join([heading, told, box(0, 0, width, height), *parts])
    view = f"0 0 {number(width)} {number(height)}"
    return element(
        "svg",
        f"\n{body}\n",
        xmlns="http://www.w3.org/2000/svg",
        viewBox=view,
        width=width,
        height=height,
        role="img",
        aria_label=clean(title),
        font_family=FONT,
    )
