"""The plan's file as a form: one field a value, in the file's own order, with its comment as the hint."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item, Table

from wetfoot.errors import Problem, refuse
from wetfoot.plan.file import changed_text
from wetfoot.quantities import parse_day

Kind = Literal["text", "number", "date", "yes", "list"]


@dataclass(frozen=True)
class Field:
    """One value of the plan: where it stands, what it is called, what stands there, its comment, its problems."""

    path: str
    label: str
    value: str
    hint: str
    kind: Kind
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True)
class Section:
    """The fields of one part of the plan; ``repeats`` is the dotted list that this part is one of, e.g. 'banks.1'."""

    title: str
    path: str
    fields: tuple[Field, ...]
    hint: str = ""
    repeats: bool = False


def sections(text: str, problems: Sequence[Problem] = ()) -> tuple[Section, ...]:
    """Return the plan's parts as they are shown, each problem beside its field."""
    document = tomlkit.parse(text)
    top = tuple(_fields(document, "", problems))
    return (Section("The season", "", top), *_tables(document, "", problems))


def unplaced(found: Sequence[Section], problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Return the problems that stand beside no field."""
    placed = {id(problem) for section in found for field in section.fields for problem in field.problems}
    return tuple(problem for problem in problems if id(problem) not in placed)


def changed_by_form(text: str, form: Mapping[str, str]) -> str:
    """Return the plan's text with the values of a form; fields that the form does not have stay.

    Raises:
        WetfootError: for a number or a date that is none, and for fields that the plan does not have.
    """
    changes: dict[str, Any] = {}
    by_path = {field.path: field for section in sections(text) for field in section.fields}
    for path, field in by_path.items():
        typed = form.get(path)
        if field.kind == "yes":
            typed = "true" if typed is not None else "false" if f"{path}.asked" in form else None
        if typed is not None and typed.strip() != field.value:
            changes[path] = _value(typed.strip(), field)
    return changed_text(text, changes) if changes else text


def with_one_more(text: str, path: str) -> str:
    """Return the text with a copy of one part of a list behind it, e.g. of 'banks.1', under a name of its own.

    Raises:
        WetfootError: if there is no such part.
    """
    document, name, index = _part(text, path)
    parts: Any = document[name]
    copy = tomlkit.parse(tomlkit.dumps({name: [parts[index].unwrap()]}))[name][0]
    if "name" in copy:
        copy["name"] = _free_name(str(copy["name"]), {str(part.get("name")) for part in parts})
    parts.insert(index + 1, copy)
    return tomlkit.dumps(document)


def with_one_less(text: str, path: str) -> str:
    """Return the text without one part of a list; the last one stays.

    Raises:
        WetfootError: if there is no such part, or it is the only one.
    """
    document, name, index = _part(text, path)
    parts: Any = document[name]
    if len(parts) == 1:
        raise refuse(path, "this is the only one", "one or more", "change it instead")
    del parts[index]
    return tomlkit.dumps(document)


def _part(text: str, path: str) -> tuple[Any, str, int]:
    document = tomlkit.parse(text)
    name, _, number = path.partition(".")
    parts = document.get(name)
    if not isinstance(parts, AoT) or not number.isdigit() or int(number) >= len(parts):
        raise refuse(path, "there is no such part of the plan", "a bank of the plan", "open the plan again")
    return document, name, int(number)


def _free_name(name: str, taken: set[str]) -> str:
    stem = re.sub(r" \d+$", "", name)
    return next(f"{stem} {n}" for n in range(2, 1_000_000) if f"{stem} {n}" not in taken)


def _tables(table: Any, path: str, problems: Sequence[Problem]) -> Iterator[Section]:
    for key, item in table.items():
        here = f"{path}.{key}" if path else key
        if isinstance(item, AoT):
            for index, part in enumerate(item):
                title = f"{_label(key).rstrip('s')} {part.get('name', index + 1)}"
                fields = tuple(_fields(part, f"{here}.{index}", problems))
                yield Section(title, f"{here}.{index}", fields, _hint(part), repeats=True)
        elif isinstance(item, Table):
            if fields := tuple(_fields(item, here, problems)):
                yield Section(_title(here), here, fields, _hint(item))
            yield from _tables(item, here, problems)


def _fields(table: Any, path: str, problems: Sequence[Problem]) -> Iterator[Field]:
    for key, item in table.items():
        here = f"{path}.{key}" if path else key
        if isinstance(item, InlineTable):
            for inner, value in item.items():
                label = f"{_label(key)}: {_label(inner).lower()}"
                yield _field(f"{here}.{inner}", label, value, "", problems)
        elif not isinstance(item, (Table, AoT)):
            yield _field(here, _label(key), item, _hint(item), problems)


def _field(path: str, label: str, item: Any, hint: str, problems: Sequence[Problem]) -> Field:
    about = tuple(problem for problem in problems if _dotted(problem.where) == path)
    if isinstance(item, Array):
        return Field(path, label, ", ".join(str(each) for each in item), hint, "list", about)
    value = item.unwrap() if isinstance(item, Item) else item
    if isinstance(value, bool):
        return Field(path, label, "true" if value else "false", hint, "yes", about)
    if isinstance(value, date):
        return Field(path, label, value.isoformat(), hint, "date", about)
    kind: Kind = "number" if isinstance(value, (int, float)) else "text"
    return Field(path, label, str(value), hint, kind, about)


def _hint(item: Any) -> str:
    comment = item.trivia.comment if isinstance(item, Item) else ""
    return comment.lstrip("# ").strip()


def _label(key: str) -> str:
    words = key.replace("_", " ")
    return words[:1].upper() + words[1:]


def _title(path: str) -> str:
    return ", ".join(_label(step) for step in path.split("."))


def _dotted(where: str) -> str:
    return re.sub(r"\[(\d+)\]", r".\1", where)


def _value(typed: str, field: Field) -> Any:
    if field.kind == "yes":
        return typed == "true"
    if field.kind == "date":
        return parse_day(typed, field.path)
    if field.kind == "list":
        return [part.strip() for part in typed.split(",") if part.strip()]
    if field.kind == "number":
        try:
            return int(typed) if re.fullmatch(r"[+-]?\d+", typed) else float(typed)
        except ValueError:
            return typed  # a quantity with its unit, or a mistake that the plan's checks will name
    return typed
