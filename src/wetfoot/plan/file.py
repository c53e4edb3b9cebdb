"""Read a plan from its file, change one value in it without losing the comments, and say all that is wrong at once."""

from __future__ import annotations

import difflib
import os
from collections.abc import Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Annotated, Any, get_args, get_origin

import tomlkit
from pydantic import TypeAdapter, ValidationError
from pydantic.fields import FieldInfo
from pydantic_core import ErrorDetails
from tomlkit.container import Container
from tomlkit.exceptions import TOMLKitError

from wetfoot.errors import Problem, WetfootError, refuse
from wetfoot.plan.checks import refusals
from wetfoot.plan.model import Part, Plan

PLAN_FILE = "season.toml"
NEWEST_FORMAT = 1
LARGEST_FILE_BYTES = 2_000_000


def plan_path(folder: Path) -> Path:
    """Return where the plan of a season folder is; a path to the file itself is taken as it is."""
    return folder if folder.suffix == ".toml" else folder / PLAN_FILE


def read_plan(folder: Path) -> Plan:
    """Return the plan of a season folder.

    Raises:
        WetfootError: with every problem in the file: unknown and missing keys, wrong units, impossible physics.
    """
    return plan_from_text(read_plan_text(folder), folder=plan_path(folder).parent)


def read_plan_text(folder: Path) -> str:
    """Return the text of a season folder's plan as a person sees it, without a mark of its encoding.

    Raises:
        WetfootError: if there is none, or it is too large, or no text in UTF-8.
    """
    path = plan_path(folder)
    if not os.path.isfile(path):  # noqa: PTH113 (unlike Path.is_file it takes names that no file can have)
        fix = f"make one with: wetfoot new {path.parent}"
        raise refuse(str(path), "there is no plan here", f"a folder with a {PLAN_FILE}", fix)
    if path.stat().st_size > LARGEST_FILE_BYTES:
        raise refuse(str(path), "the file is too large to be a plan", "up to 2 MB", "check that it is the right file")
    try:
        return path.read_text("utf-8-sig")
    except (OSError, UnicodeDecodeError) as error:
        raise refuse(
            str(path), f"the file cannot be read ({error})", "plain text in UTF-8", "save it as UTF-8"
        ) from error


def plan_from_text(text: str, folder: Path | None = None) -> Plan:
    """Return the plan that a text describes; with a folder, its weather file must be there too.

    Raises:
        WetfootError: as `read_plan`.
    """
    raw = _parse(text)
    _refuse_newer(raw.get("format"))
    problems: list[Problem] = []
    plan: Plan | None = None
    try:
        plan = Plan.model_validate(raw)
    except ValidationError as error:
        problems = [_problem(detail) for detail in error.errors()]
    problems += refusals(plan or _readable(Plan, raw), folder)
    if problems or plan is None:
        raise WetfootError(problems)
    return plan


def _parse(text: str) -> dict[str, Any]:
    try:
        return tomlkit.parse(text).unwrap()
    except (TOMLKitError, RecursionError, ValueError) as error:
        raise refuse(PLAN_FILE, f"this is not valid TOML: {error}", "key = value lines", "mend that line") from error


def _refuse_newer(number: Any) -> None:
    """Say first that a plan is of a newer version: each unknown key in it would be told as a mistake."""
    if isinstance(number, int) and number > NEWEST_FORMAT:
        what = f"a newer version of Wetfoot wrote this plan (format {number})"
        raise refuse("format", what, f"formats up to {NEWEST_FORMAT}", "update Wetfoot; the plan was left as it is")


def changed_text(text: str, changes: Mapping[str, Any]) -> str:
    """Return the text of a plan with values changed and all comments and order kept.

    Args:
        text: the file's text.
        changes: new values by dotted key, e.g. ``{"tank.volume": "250 gal", "banks.0.pots": 12}``.

    Raises:
        WetfootError: if a key is not in the text.
    """
    document = tomlkit.parse(text)
    for dotted, value in changes.items():
        *path, last = dotted.split(".")
        table: Any = document
        try:
            for step in path:
                table = table[int(step)] if step.isdigit() else table[step]
            holder = table if isinstance(table, Container) else table.value
            old: Any = holder.item(last)
        except (KeyError, IndexError, TypeError, AttributeError, TOMLKitError) as error:
            raise refuse(dotted, "there is no such value in the plan", "a key of the plan", "check it") from error
        item = tomlkit.item(value)
        item.trivia.comment_ws, item.trivia.comment = old.trivia.comment_ws, old.trivia.comment
        table[last] = item
    return tomlkit.dumps(document)


def _problem(detail: ErrorDetails) -> Problem:
    where, context, kind = _where(detail["loc"]), detail.get("ctx", {}), detail["type"]
    if kind == "quantity":
        return Problem(where, context["what"], context["allowed"], context["fix"])
    if kind == "missing":
        return Problem(where, "this is missing", "it is needed", "add it; 'wetfoot new' shows an example of each key")
    if kind == "extra_forbidden":
        return _unknown_key(detail["loc"])
    expected = detail["msg"][0].lower() + detail["msg"][1:]
    return Problem(where, f"{_typed(detail['input'])} is not accepted", expected, "correct the value")


def _typed(value: Any) -> str:
    text = value.isoformat() if isinstance(value, date) else repr(value)
    return text if len(text) <= 60 else text[:57] + "..."


def _where(loc: tuple[int | str, ...]) -> str:
    text = ""
    for step in loc:
        text += f"[{step}]" if isinstance(step, int) else f".{step}" if text else str(step)
    return text


def _unknown_key(loc: tuple[int | str, ...]) -> Problem:
    model: type[Part] | None = Plan
    for step in loc[:-1]:
        field = _fields_by_key(model).get(str(step)) if model else None
        model = _part_in(field.annotation) if field else model
    keys = sorted(_fields_by_key(model)) if model else []
    near = difflib.get_close_matches(str(loc[-1]), keys, n=1)
    fix = f"did you mean '{near[0]}'?" if near else "remove it or correct its name"
    return Problem(_where(loc), f"{str(loc[-1])!r} is not a key of a plan here", ", ".join(keys), fix)


def _fields_by_key(model: type[Part]) -> dict[str, FieldInfo]:
    return {field.alias or name: field for name, field in model.model_fields.items()}


def _part_in(annotation: Any) -> type[Part] | None:
    """Return the part of a plan that an annotation holds, e.g. Nest in dict[str, Nest]."""
    if isinstance(annotation, type) and issubclass(annotation, Part):
        return annotation
    return next((part for inner in get_args(annotation) if (part := _part_in(inner))), None)


def _readable(model: type[Any], raw: Any) -> Any:
    """Return as much of a part as can be read, None standing for each value that cannot.

    So that one wrong number does not hide the impossible physics behind it.
    """
    raw = raw if isinstance(raw, Mapping) else {}
    return model.model_construct(**dict(_readable_fields(model, raw)))


def _readable_fields(model: type[Part], raw: Mapping[str, Any]) -> Iterator[tuple[str, Any]]:
    for key, field in _fields_by_key(model).items():
        part = _part_in(field.annotation)
        if key not in raw and not field.is_required():
            yield key, field.get_default(call_default_factory=True)
        elif part is None:
            yield key, _readable_value(field, raw.get(key))
        elif get_origin(field.annotation) is dict:
            items = raw[key].items() if isinstance(raw.get(key), Mapping) else ()
            yield key, {name: _readable(part, item) for name, item in items}
        elif get_origin(field.annotation) is tuple:
            rows = raw[key] if isinstance(raw.get(key), list) else ()
            yield key, tuple(_readable(part, row) for row in rows)
        else:
            yield key, _readable(part, raw.get(key))


def _readable_value(field: FieldInfo, value: Any) -> Any:
    try:
        annotation: Any = Annotated[(field.annotation, *field.metadata, None)]
        return TypeAdapter(annotation).validate_python(value)
    except ValidationError:
        return None
