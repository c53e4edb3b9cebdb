"""Find out which column of a table holds what: by the names that were given, else by what people call such columns."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from wetfoot.errors import Problem, WetfootError
from wetfoot.quantities import parse

MOST_LEVELS = 12

# What people call each column, the surest names first: common practice, no source.
SYNONYMS = {
    "pot": "pot code; pot id; pot no; pot number; plot; plot no; plot number; plot id; plant id; label; code; id; pot",
    "response": "weight; fresh weight; rhizome weight; rhizome fresh weight; harvest weight; yield; rhizome yield; "
    "mass; rhizome mass; fresh mass; w; wt; fw; response; y",
    "block": "block; blk; rep; replicate; replication",
    "board": "board; main plot; whole plot; row; bench row",
    "position": "position; pos; place; position on board",
    "year": "year; season",
    "lost": "lost; loss; loss code; reason lost; status; fate; missing",
}
_FACTOR_WORDS = (
    "gutter wrap pieces piece seedpieces nest medium mix pot pottype dome level treatment trt cultivar spacing"
)
_MEASURED_WORDS = "split stems stem shoots tillers height leaves score complete ec temperature weight mass note notes"
_OTHER_WORDS = "check recipe remark remarks remark initials by who date day time comment comments"
_UNIT = re.compile(
    r"(?:[(\[]\s*|[_,/ ]\s*(?:in\s+)?)(kg|g|lbs?|oz|grams?|kilograms?|pounds?|ounces?)\s*[)\]]?\s*$", re.I
)
_UNITS = {"gram": "g", "kilogram": "kg", "pound": "lb", "ounce": "oz", "lbs": "lb"}


@dataclass(frozen=True)
class Columns:
    """Which column holds what.

    Attributes:
        roles: heading by role: pot, response, and block, board, position, year, lost where they are there.
        factors: headings of the treatment factors.
        said: what was guessed, in words.
    """

    roles: Mapping[str, str]
    factors: tuple[str, ...]
    said: tuple[str, ...]


def match_columns(
    columns: Mapping[str, Sequence[str]],
    given: Mapping[str, str],
    factors: Sequence[str] | None = None,
    needed: Sequence[str] = ("pot", "response"),
) -> Columns:
    """Return which column holds what.

    Args:
        columns: cells by heading.
        given: headings that were named, by role.
        factors: headings of the treatment factors, if they were named.
        needed: roles that must be found.

    Raises:
        WetfootError: if a named column is not there, a needed one is not found, or two could be meant.
    """
    problems = [
        Problem(role, f"there is no column {heading!r}", ", ".join(columns), "name a column of the table")
        for role, heading in [*given.items(), *(("factors", name) for name in factors or ())]
        if heading not in columns
    ]
    problems += [Problem(role, "no such role", ", ".join(SYNONYMS)) for role in given if role not in SYNONYMS]
    if problems:
        raise WetfootError(problems)
    roles, said = dict(given), []
    for role in SYNONYMS:
        heading = None if role in roles else _guess(role, columns, [*roles.values(), *(factors or ())])
        if heading:
            roles[role] = heading
            said.append(f"column {heading!r} taken as {role}")
    missing = [role for role in needed if role not in roles]
    if missing:
        allowed, seen = "; ".join(f"{role}: {SYNONYMS[role]}" for role in missing), ", ".join(columns)
        what = f"no column found for {', '.join(missing)} among {seen}"
        raise WetfootError(Problem("columns", what, allowed, "say which column it is"))
    if factors is None:
        factors = [name for name, cells in columns.items() if name not in roles.values() and _is_factor(name, cells)]
        said.append(f"treatment factors taken to be: {', '.join(factors) or 'none'}")
    if "pot" not in roles:
        said.append("no column names the pots: they are called by their rows")
    return Columns(roles, tuple(factors), tuple(said))


def plain(heading: str) -> str:
    """Return a heading in small letters, without its unit, spaces and signs.

    >>> plain("Rhizome weight (kg)"), plain("fresh_weight_g")
    ('rhizomeweight', 'freshweight')
    """
    return re.sub(r"[\W_]+", "", _UNIT.sub("", heading).casefold())


def unit_in_head(heading: str) -> str | None:
    """Return the unit of mass that a heading names, or nothing.

    >>> unit_in_head("weight [lb]"), unit_in_head("w_g"), unit_in_head("split")
    ('lb', 'g', None)
    """
    found = _UNIT.search(heading)
    if not found:
        return None
    unit = found[1].casefold()
    return _UNITS.get(unit, _UNITS.get(unit.removesuffix("s"), unit))


def grams_in(unit: str) -> float:
    """Return how many grams a unit of mass has."""
    return 1000.0 * parse(f"1 {unit}", "mass")


def _guess(role: str, columns: Mapping[str, Sequence[str]], taken: Sequence[str]) -> str | None:
    """Return the column that a role means, by the surest synonym that only one free column bears.

    Raises:
        WetfootError: if two columns bear the same name.
    """
    for synonym in SYNONYMS[role].split("; "):
        found = [heading for heading in columns if heading not in taken and plain(heading) == plain(synonym)]
        if len(found) > 1:
            what = f"{' and '.join(map(repr, found))} could both be meant"
            raise WetfootError(Problem(role, what, "one of them", f"say which column is the {role}"))
        if found:
            return found[0]
    return None


def _is_factor(heading: str, cells: Sequence[str]) -> bool:
    """Return whether a column looks like a treatment factor: few levels, each several times, not a measurement."""
    name = plain(heading)
    if name in _OTHER_WORDS.split() or any(
        word in re.split(r"[\W_]+", heading.casefold()) for word in _MEASURED_WORDS.split()
    ):
        return False
    filled = [cell.casefold() for cell in cells if cell]
    levels = set(filled)
    if not 2 <= len(levels) <= MOST_LEVELS:
        return False
    return name in _FACTOR_WORDS.split() or 2 * len(levels) <= len(filled)
