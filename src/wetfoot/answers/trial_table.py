"""The tables of a trial, one file a year or all in one, made ready for the analysis: who is what, and who said so."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from wetfoot.answers.trial_columns import are_counts, more_columns, numbers, positions, with_drained
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.quantities import parse
from wetfoot.trial.columns import unit_in_head
from wetfoot.trial.data import TrialData, read_trial
from wetfoot.trial.designs import Layout
from wetfoot.trial.pot_rows import Doubt
from wetfoot.trial.roles import Roles
from wetfoot.trial.terms import Array, Labels, Term, combine, levels_of

LIGHTEST_POT_G = 200.0  # a median below it is no harvest in grams: common practice, no source
MASS_UNITS = ("g", "kg", "oz", "lb")


@dataclass(frozen=True)
class Asked:
    """What a person says about a trial's table; everything left out is guessed, and the guess is told.

    Attributes:
        response: heading of the response; likewise ``block``, ``board``, ``year``, ``pot``, ``lost`` and ``split``.
        board_factors: headings of factors on whole boards.
        pot_factors: headings of factors on pots.
        quantitative: those whose numbers have a meaning; guessed if None.
        terms: the terms to fit, as ``gutter:pieces``; all if empty.
        unit: of the response, where its heading names none.
        sheet: worksheet of a workbook.
    """

    response: str = ""
    block: str = ""
    board: str = ""
    year: str = ""
    pot: str = ""
    lost: str = ""
    split: str = ""
    board_factors: tuple[str, ...] = ()
    pot_factors: tuple[str, ...] = ()
    quantitative: tuple[str, ...] | None = None
    terms: tuple[str, ...] = ()
    unit: str = ""
    sheet: str | None = None

    @property
    def names(self) -> dict[str, str]:
        """Return the headings that were named, by role."""
        roles = ("response", "block", "board", "year", "pot", "lost")
        return {role: heading for role in roles if (heading := getattr(self, role))}


@dataclass(frozen=True)
class TrialTable:
    """The pots of a trial with whole labels, whatever files they came from.

    Attributes:
        sources: names of the files.
        y: the response, nan where lost, shape (n,).
        unit: "g" for masses, empty for plain numbers.
        response: heading of the response.
        factors: labels by column, shape (n,) each.
        roles: what the columns stand for.
        pot: code of each pot, length n.
        lost: loss code of each pot, empty if none, length n.
        split: 1 where the pot split, 0 where not, nan if nobody said, shape (n,); None without such a column.
        counts: counted columns by heading, nan where blank, shape (n,) each.
        position: place on the board, nan if not a number, shape (n,); None if not known.
        doubts: every doubtful value, with the file it stands in.
        left_out: how many rows have no whole labels or are put out of use.
        said: what was guessed, in words.
    """

    sources: tuple[str, ...]
    y: Array
    unit: str
    response: str
    factors: Mapping[str, Labels]
    roles: Roles
    pot: tuple[str, ...]
    lost: tuple[str, ...]
    split: Array | None
    counts: Mapping[str, Array]
    position: Array | None
    doubts: tuple[tuple[str, Doubt], ...]
    left_out: int
    said: tuple[str, ...]

    @property
    def years(self) -> tuple[str, ...]:
        """Return the years, if there are several."""
        return levels_of(self.factors[self.roles.year]) if self.roles.year else ()

    @property
    def response_name(self) -> str:
        """Return the response without the unit that its heading names."""
        unit = unit_in_head(self.response)
        return (
            re.sub(rf"[\s_,/(\[]+(in\s+)?{unit}s?[)\]]?\s*$", "", self.response, flags=re.I) if unit else self.response
        )

    @property
    def response_words(self) -> str:
        """Return the response with its unit."""
        return f"{self.response_name}, {self.unit}" if self.unit else self.response


def read_table(paths: Sequence[Path], asked: Asked | None = None, layout: Layout | None = None) -> TrialTable:
    """Return the table of a trial from one file, or from one file for each year.

    Args:
        paths: CSV or XLSX files; several are several years, told by their year column or else by their names.
        asked: what is known of the columns.
        layout: the trial's layout, if one file is read against it.

    Raises:
        WetfootError: if a file cannot be read, a column is not understood, or the files do not agree.
    """
    asked = asked or Asked()
    if not paths:
        raise refuse("file", "no table was named", "a CSV or XLSX file", "name one")
    if asked.unit and asked.unit not in MASS_UNITS:
        raise refuse("unit", f"{asked.unit!r} is not a unit of mass here", ", ".join(MASS_UNITS), "name one of them")
    named = (*asked.board_factors, *asked.pot_factors) or None
    parts = [read_trial(path, asked.names, named, layout=layout, sheet=asked.sheet) for path in paths]
    _check_agreement(paths, parts)
    more = [more_columns(path, part, asked.sheet, asked.split) for path, part in zip(paths, parts, strict=True)]
    return _joined(paths, parts, more, asked)


def _check_agreement(paths: Sequence[Path], parts: Sequence[TrialData]) -> None:
    first = parts[0]
    problems = [
        Problem(path.name, f"treatment factors {', '.join(part.factors)}", f"{', '.join(first.factors)}, as in "
                f"{paths[0].name}", "give all files the same headings, or name the factors")
        for path, part in zip(paths[1:], parts[1:], strict=True)
        if set(part.factors) != set(first.factors)
    ]  # fmt: skip
    problems += [
        Problem(path.name, f"places told: {', '.join(_places(part))}", f"{', '.join(_places(first))}, as in "
                f"{paths[0].name}", "give all files the same columns")
        for path, part in zip(paths[1:], parts[1:], strict=True)
        if _places(part) != _places(first)
    ]  # fmt: skip
    if len({part.unit for part in parts}) > 1:
        problems.append(
            Problem("unit", "some files have a unit of mass and others none", fix="name it in all headings")
        )
    if problems:
        raise WetfootError(problems)


def _places(part: TrialData) -> list[str]:
    return [name for name in ("block", "board") if name in part.labels]


def _joined(
    paths: Sequence[Path], parts: Sequence[TrialData], more: Sequence[dict[str, dict[int, str]]], asked: Asked
) -> TrialTable:
    """Return the pots of all files under each other."""
    said = [*dict.fromkeys(text for part in parts for text in part.said)]
    whole = [np.all([labels != "" for labels in part.labels.values()], axis=0) for part in parts]
    kept = list(zip(parts, whole, strict=True))

    def stacked(values: Callable[[TrialData], Labels]) -> Labels:
        return np.concatenate([np.asarray(values(part))[mask] for part, mask in kept])

    factors = {name: stacked(lambda part, name=name: part.labels[name]) for name in parts[0].factors}  # type: ignore[misc]
    factors |= {name: stacked(lambda part, name=name: part.labels[name]) for name in _places(parts[0])}  # type: ignore[misc]
    years = _years(paths, kept, said)
    if asked.board_factors and "board" not in factors:
        # each combination on boards stands for one board of its block, the usual split plot
        factors["board"] = combine(*(factors[name] for name in asked.board_factors))
        said.append(f"no column of boards: one board in a block for each of {', '.join(asked.board_factors)}")
    y, unit = _in_grams(np.concatenate([part.y[mask] for part, mask in kept]), parts[0], asked, said)
    roles = _roles(factors | years, parts[0], asked, said)
    extra = {
        name: np.concatenate([numbers(columns.get(name), part, mask, name == "split")
                              for columns, (part, mask) in zip(more, kept, strict=True)])
        for name in dict.fromkeys(name for columns in more for name in columns)
    }  # fmt: skip
    lost = tuple(str(loss) for loss in stacked(lambda part: np.array(part.lost, dtype=np.str_)))
    split = extra.pop("split", None)
    return TrialTable(
        sources=tuple(path.name for path in paths),
        y=y,
        unit=unit,
        response=parts[0].response,
        factors={name: labels for name, labels in (factors | years).items() if name in roles.columns},
        roles=roles,
        pot=tuple(str(pot) for pot in stacked(lambda part: np.array(part.pot, dtype=np.str_))),
        lost=lost,
        split=with_drained(split, lost),
        counts={name: values for name, values in extra.items() if are_counts(values)},
        position=positions(kept),
        doubts=tuple((path.name, doubt) for path, part in zip(paths, parts, strict=True) for doubt in part.doubts),
        left_out=sum(part.state.count("left out") for part in parts),
        said=tuple(said),
    )


def _years(
    paths: Sequence[Path], kept: Sequence[tuple[TrialData, NDArray[np.bool_]]], said: list[str]
) -> dict[str, Labels]:
    """Return the year of each pot if there are several."""
    known = all(part.year is not None for part, _ in kept)
    if not known and len(paths) > 1:
        said.append(f"each file is taken for a year: {', '.join(path.stem for path in paths)}")
    labels = np.concatenate([
        part.labels["year"][mask] if known else np.array([path.stem] * int(mask.sum()))
        for path, (part, mask) in zip(paths, kept, strict=True)
    ])  # fmt: skip
    return {"year": labels} if len(set(labels.tolist())) > 1 else {}


def _in_grams(y: Array, part: TrialData, asked: Asked, said: list[str]) -> tuple[Array, str]:
    """Return the response in grams and its unit, guessed for a harvest whose heading names none."""
    if part.unit:
        return y, part.unit
    if asked.unit:
        return y * 1000.0 * parse(f"1 {asked.unit}", "mass"), "g"
    words = re.split(r"[\W_]+", part.response.casefold())
    harvest = words[0] in ("w", "wt", "fw", "mass") or "weight" in words or "yield" in words
    middle = float(np.nanmedian(y)) if np.isfinite(y).any() else 0.0
    if harvest and middle >= LIGHTEST_POT_G:
        said.append(
            f"{part.response!r} names no unit and is taken to be in grams (half of the pots above {middle:.4g})"
        )
        return y, "g"
    said.append(f"{part.response!r} names no unit: its numbers are taken as they are")
    return y, ""


def _roles(columns: Mapping[str, Labels], part: TrialData, asked: Asked, said: list[str]) -> Roles:
    """Return what the columns stand for; blocks or boards that tell nothing apart are left out."""
    outer = [columns[name] for name in ("year", "block") if name in columns]
    block = "block" if "block" in columns and len(levels_of(columns["block"])) > 1 else None
    board = "board" if "board" in columns else None
    if board:
        n = len(columns["board"])
        boards = len(levels_of(combine(*outer, columns["board"])))
        if boards == n or (outer and boards == len(levels_of(combine(*outer)))) or boards == 1:
            board = None
            said.append("the column of boards tells nothing apart that blocks or pots do not, and is not used")
    on_boards = asked.board_factors if asked.board_factors or asked.pot_factors else part.on_boards
    on_pots = asked.pot_factors if asked.board_factors or asked.pot_factors else part.on_pots
    if not (asked.board_factors or asked.pot_factors) and board:
        said.append(f"on whole boards: {', '.join(on_boards) or 'nothing'}; on pots: {', '.join(on_pots) or 'nothing'}")
    numeric = asked.quantitative
    if numeric is None:
        numeric = tuple(name for name in (*on_boards, *on_pots) if _amounts(levels_of(columns[name])))
        if numeric:
            said.append(f"numbers with a meaning: {', '.join(numeric)}")
    terms = tuple(tuple(part.strip() for part in text.split(":")) for text in asked.terms) or None
    year = "year" if "year" in columns else None
    return Roles(on_boards, on_pots, block, board, year, numeric, _ordered(terms, (*on_boards, *on_pots)))


def _ordered(terms: tuple[Term, ...] | None, names: tuple[str, ...]) -> tuple[Term, ...] | None:
    """Return the terms with their factors in the order of the table, so that each has one name."""
    if terms is None:
        return None
    known = {name: at for at, name in enumerate(names)}
    return tuple(tuple(sorted(term, key=lambda name: known.get(name, len(known)))) for term in terms)


def _amounts(levels: tuple[str, ...]) -> bool:
    """Return whether three or more levels all are numbers."""
    try:
        return len(levels) >= 3 and bool(np.isfinite([float(level) for level in levels]).all())
    except ValueError:
        return False
