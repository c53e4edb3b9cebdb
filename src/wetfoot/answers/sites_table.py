"""The table of many sites: one row a site and design, and what its cells change in the plan."""

from __future__ import annotations

import csv
import difflib
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from pathlib import Path
from typing import Any

import tomlkit
from tomlkit.exceptions import TOMLKitError

from wetfoot.answers.site_task import SiteRow
from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan.file import PLAN_FILE, changed_text, plan_from_text
from wetfoot.plan.model import Plan

SITE_COLUMNS = {
    "name": "site.name",
    "latitude": "site.latitude",
    "longitude": "site.longitude",
    "elevation": "site.elevation",
    "zone": "site.zone",
    "weather": "site.weather",
}
OTHER_COLUMNS = ("design", "plan")
LARGEST_TABLE_BYTES = 200_000_000
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r")


def read_sites(path: Path, folder: Path) -> tuple[SiteRow, ...]:
    """Return the rows of a table of sites; what is wrong with single rows is kept with them.

    Args:
        path: the table, CSV with commas or semicolons.
        folder: the season's folder, whose plans the rows change.

    Raises:
        WetfootError: if the table cannot be read, or its headings or the plans it names cannot be used.
    """
    heads, body = _cells(path)
    problems = list(_head_problems(path.name, heads))
    if not problems and not body:
        problems.append(Problem(path.name, "there is no site in it", "a row for each site", "add rows"))
    if problems:
        raise WetfootError(problems)
    rows = [_row(path.name, number, heads, cells) for number, cells in body]
    problems = list(_key_problems(path.name, rows, folder))
    if problems:
        raise WetfootError(problems)
    return tuple(_with_repeats(rows))


def _cells(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    """Return the headings and the rows that are not empty, with their numbers."""
    what = ""
    try:
        if path.stat().st_size > LARGEST_TABLE_BYTES:
            what = "the table is too large"
        else:
            with path.open(encoding="utf-8-sig", newline="") as file:
                first = file.readline()
                file.seek(0)
                mark = ";" if first.count(";") > first.count(",") else ","
                lines = [[cell.strip() for cell in line] for line in csv.reader(file, delimiter=mark, strict=True)]
    except (OSError, UnicodeDecodeError, csv.Error) as error:
        what = f"the table cannot be read ({error})"
    if what:
        raise refuse(str(path), what, "a CSV file in UTF-8, up to 200 MB", "save it as CSV in UTF-8")
    body = [(number, line) for number, line in enumerate(lines[1:], start=2) if any(line)]
    return (lines[0] if lines else []), body


def _head_problems(table: str, heads: list[str]) -> Iterator[Problem]:
    allowed = ", ".join((*SITE_COLUMNS, *OTHER_COLUMNS)) + ", or a plan's value as tank.volume"
    for missing in (column for column in SITE_COLUMNS if column not in heads):
        yield Problem(f"{table}, row 1", f"the column {missing!r} is missing", allowed, "add it")
    for head, count in Counter(heads).items():
        where = f"{table}, row 1, column {head or 'without a heading'}"
        if count > 1:
            yield Problem(where, f"it stands there {count} times", "each column once", "take one of them out")
        if head in SITE_COLUMNS.values():
            short = next(column for column, key in SITE_COLUMNS.items() if key == head)
            yield Problem(where, "it has a column of its own", allowed, f"use {short!r}")
        elif "." not in head and head not in (*SITE_COLUMNS, *OTHER_COLUMNS):
            near = difflib.get_close_matches(head, [*SITE_COLUMNS, *OTHER_COLUMNS], n=1)
            yield Problem(where, "there is no such column", allowed, f"did you mean {near[0]!r}?" if near else "")


def _row(table: str, number: int, heads: list[str], cells: list[str]) -> SiteRow:
    by_head = dict(zip(heads, cells, strict=False))
    keys = {SITE_COLUMNS.get(head, head): cell for head, cell in by_head.items() if cell}
    design, plan_file = keys.pop("design", ""), keys.pop("plan", PLAN_FILE)
    row = SiteRow(table, number, keys.get("site.name", ""), design, plan_file, keys)
    return row._replace(problems=tuple(_row_problems(row, heads, cells)))


def _row_problems(row: SiteRow, heads: list[str], cells: list[str]) -> Iterator[Problem]:
    if len(cells) != len(heads):
        what = f"{len(cells)} cells stand under {len(heads)} headings"
        yield Problem(row.place(), what, "a cell for each heading", "put cells with a comma in quotes")
    for column, key in SITE_COLUMNS.items():
        if key not in row.cells:
            yield Problem(row.place(column), "this is missing", "it is needed for each site", "fill it in")
    for column, name in (("name", row.site), ("design", row.design)):
        if name.startswith(FORMULA_SIGNS):
            what = f"a spreadsheet takes {name!r} for a formula"
            yield Problem(row.place(column), what, "a name that begins with a letter or digit", "choose another")


def _key_problems(table: str, rows: Iterable[SiteRow], folder: Path) -> Iterator[Problem]:
    """Yield plans that are not there, and columns that are not in the plan they change."""
    rows = list(rows)
    for plan_file in dict.fromkeys(row.plan_file for row in rows):
        mine = [row for row in rows if row.plan_file == plan_file]
        if Path(plan_file).name != plan_file or not (folder / plan_file).is_file():
            what = f"there is no plan {plan_file!r} in {folder}"
            yield Problem(mine[0].place("plan"), what, "a plan's file in the season's folder", "correct the name")
            continue
        raw = _raw(plan_text(folder, plan_file))
        for key in dict.fromkeys(key for row in mine for key in row.cells):
            if _at(raw, key) is None:
                near = difflib.get_close_matches(key, list(_keys(raw)), n=1)
                fix = f"did you mean {near[0]!r}?" if near else "write the value into the plan first"
                what = f"there is no such value in {plan_file}"
                yield Problem(f"{table}, row 1, column {key}", what, "the dotted key of a value in the plan", fix)


def plan_text(folder: Path, plan_file: str) -> str:
    """Return the text of a plan that rows change."""
    try:
        return (folder / plan_file).read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise refuse(plan_file, f"the plan cannot be read ({error})", "plain text in UTF-8", "save it anew") from error


def _raw(text: str) -> dict[str, Any]:
    try:
        return tomlkit.parse(text).unwrap()
    except (TOMLKitError, RecursionError, ValueError) as error:
        raise refuse(PLAN_FILE, f"this is not valid TOML: {error}", "key = value lines", "mend that line") from error


def _at(raw: Any, dotted: str) -> Any:
    for step in dotted.split("."):
        try:
            raw = raw[int(step)] if isinstance(raw, list) else raw[step]
        except (KeyError, IndexError, ValueError, TypeError):
            return None
    return raw


def _keys(raw: Any, before: str = "") -> Iterator[str]:
    """Yield the dotted keys of all single values."""
    if isinstance(raw, (Mapping, list)):
        for step, value in raw.items() if isinstance(raw, Mapping) else enumerate(raw):
            yield from _keys(value, f"{before}.{step}" if before else str(step))
    else:
        yield before


def _with_repeats(rows: list[SiteRow]) -> Iterator[SiteRow]:
    """Yield the rows, with a problem where one before it has the same names."""
    first: dict[tuple[str, str], int] = {}
    for row in rows:
        before = first.setdefault((row.site, row.design), row.number)
        if before == row.number or not row.site:
            yield row
            continue
        what = f"row {before} has the same name and design"
        fix = "give one of them another name, or a design's name"
        yield row._replace(problems=(*row.problems, Problem(row.place("name"), what, "each pair once", fix)))


def plan_of_row(row: SiteRow, text: str, folder: Path) -> Plan:
    """Return the plan of a site: a text of which the row's cells change values.

    A cell is taken as text where the plan has text, else as TOML writes it: 12, 0.5, true, 2027-04-05.

    Raises:
        WetfootError: with everything that is wrong in the row, by column, and in the plan it makes.
    """
    raw = _raw(text)
    changes = {key: _typed(cell, _at(raw, key)) for key, cell in row.cells.items()}
    try:
        plan = plan_from_text(changed_text(text, changes), folder)
    except WetfootError as error:
        raise WetfootError((*row.problems, *(_placed(problem, row) for problem in error.problems))) from error
    if row.problems:
        raise WetfootError(row.problems)
    return plan


def _typed(cell: str, before: Any) -> Any:
    if isinstance(before, str) and not cell.startswith(("{", "[")):
        return cell
    try:
        return tomlkit.value(cell).unwrap()
    except (TOMLKitError, ValueError):
        return cell


def _placed(problem: Problem, row: SiteRow) -> Problem:
    """Return a plan's problem with the column that it comes from, or the plan's file."""
    key = problem.where.replace("[", ".").replace("]", "")
    columns = {key: column for column, key in SITE_COLUMNS.items()}
    column = next((mine for mine in row.cells if key == mine or key.startswith(f"{mine}.")), "")
    where = row.place(columns.get(column, column)) if column else f"{row.place()}, {row.plan_file}: {problem.where}"
    return Problem(where, problem.what, problem.allowed, problem.fix)
