"""Read an SVG of ours back: its words with the room they take, and every point that it draws."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from typing import NamedTuple

from wetfoot.drawing.svg import text_width

SVG = "{http://www.w3.org/2000/svg}"
Point = tuple[float, float]


class Word(NamedTuple):
    text: str
    left: float
    top: float
    right: float
    bottom: float
    size: float

    def overlaps(self, other: Word) -> bool:
        apart = self.right <= other.left or other.right <= self.left
        return not (apart or self.bottom <= other.top or other.bottom <= self.top)


def words(svg: str) -> list[Word]:
    """Return the texts with their boxes: capital height above the baseline, descenders below."""
    found = []
    for node in ET.fromstring(svg).iter(f"{SVG}text"):
        x, y, size = (float(node.attrib[name]) for name in ("x", "y", "font-size"))
        text = node.text or ""
        width = text_width(text, size)
        left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor", "start")] * width
        found.append(Word(text, left, y - 0.7 * size, left + width, y + 0.22 * size, size))
    return found


def said(svg: str) -> list[str]:
    return [word.text for word in words(svg)]


def overlapping(svg: str) -> list[tuple[str, str]]:
    every = words(svg)
    return [(a.text, b.text) for i, a in enumerate(every) for b in every[:i] if a.overlaps(b)]


def view_box(svg: str) -> tuple[float, float]:
    left, top, width, height = (float(part) for part in ET.fromstring(svg).attrib["viewBox"].split())
    assert (left, top) == (0.0, 0.0)
    return width, height


def path_points(d: str) -> list[Point]:
    """Return the points of a path made of the commands that our drawings use: M, L, Z, h, v and q."""
    points: list[Point] = []
    for command, rest in re.findall(r"([MLZhvq])([^MLZhvq]*)", d):
        numbers = [float(part) for part in re.findall(r"-?\d*\.?\d+", rest)]
        x, y = points[-1] if points else (0.0, 0.0)
        if command in "ML":
            points += list(zip(numbers[::2], numbers[1::2], strict=True))
        elif command == "q":
            points += [(x + dx, y + dy) for dx, dy in zip(numbers[::2], numbers[1::2], strict=True)]
        elif command != "Z":
            points.append((x + numbers[0], y) if command == "h" else (x, y + numbers[0]))
    return points


def filled(svg: str, fill: str) -> list[list[Point]]:
    """Return the outlines of the shapes filled with a colour, in the order they are drawn."""
    return [path_points(node.attrib["d"]) for node in ET.fromstring(svg).iter(f"{SVG}path") if node.get("fill") == fill]


def outside(svg: str) -> list[object]:
    """Return everything that reaches over the edge of the view box."""
    width, height = view_box(svg)
    over: list[object] = []
    for word in words(svg):
        if word.left < 0 or word.right > width or word.top < 0 or word.bottom > height:
            over.append(word)
    for node in ET.fromstring(svg).iter():
        points = path_points(node.attrib["d"]) if "d" in node.attrib else []
        if node.tag == f"{SVG}circle":
            x, y, r = (float(node.attrib[name]) for name in ("cx", "cy", "r"))
            points += [(x - r, y - r), (x + r, y + r)]
        over += [point for point in points if not (0 <= point[0] <= width and 0 <= point[1] <= height)]
    return over
