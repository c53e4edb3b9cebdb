"""The tables of a book. Rows are only ever added: the migrations set triggers that refuse all else."""

from __future__ import annotations

from dataclasses import fields
from datetime import datetime
from typing import Any, TypeVar, cast

from sqlalchemy import JSON, Double, ForeignKey, Index, Integer, Row, Table, Text
from sqlalchemy.orm import Mapped, mapped_column

from wetfoot.book.entries import Event, Reading, Record, TopUp, Visit
from wetfoot.book.stock_tables import ROW_OF_STOCK
from wetfoot.book.table_base import Base, Id, Name, UtcInstant, Word, Written

__all__ = ["HEAD", "HELD", "SETTLED", "TABLE_OF", "Base", "record_from", "row_of"]

HEAD = "0003"
"""The newest revision in `migrations/versions`: a book at this one is opened without loading Alembic."""


class VisitRow(Written, Base):
    """A day a person tops up, measures and writes down."""

    __tablename__ = "visits"


class ReadingRow(Written, Base):
    """One number that was measured, in the base unit of its kind."""

    __tablename__ = "readings"

    kind: Mapped[str] = mapped_column(Word)
    value: Mapped[float] = mapped_column(Double)
    place: Mapped[str | None] = mapped_column(Name)
    pot: Mapped[int | None] = mapped_column(Integer)
    typed: Mapped[str | None] = mapped_column(Text)
    temperature_c: Mapped[float | None] = mapped_column(Double)
    compensated: Mapped[bool]
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.id"))

    __table_args__ = (*Written.checks(), Index("ix_readings_kind_place_at", "kind", "place", "at"))


class TopUpRow(Written, Base):
    """Water and stocks that were added, in litres."""

    __tablename__ = "top_ups"

    place: Mapped[str] = mapped_column(Name)
    water_l: Mapped[float | None] = mapped_column(Double)
    stock_a_l: Mapped[float | None] = mapped_column(Double)
    stock_b_l: Mapped[float | None] = mapped_column(Double)
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.id"))


class EventRow(Written, Base):
    """Something that happened."""

    __tablename__ = "events"

    kind: Mapped[str] = mapped_column(Word)
    place: Mapped[str | None] = mapped_column(Name)
    pot: Mapped[int | None] = mapped_column(Integer)
    visit_id: Mapped[str | None] = mapped_column(ForeignKey("visits.id"))


class HeldRow(Base):
    """A row of an imported file that could not be read, kept word for word."""

    __tablename__ = "held_rows"

    id: Mapped[str] = mapped_column(Id, primary_key=True)
    file: Mapped[str] = mapped_column(Text)
    row_number: Mapped[int]
    reason: Mapped[str] = mapped_column(Text)
    cells: Mapped[Any] = mapped_column(JSON)
    who: Mapped[str] = mapped_column(Name)
    written_at: Mapped[datetime] = mapped_column(UtcInstant)


class SettledRow(Base):
    """What became of a row that was held: the record it was mended to, or none if it was dropped."""

    __tablename__ = "settled_rows"

    held_id: Mapped[str] = mapped_column(ForeignKey("held_rows.id"), primary_key=True)
    record_id: Mapped[str | None] = mapped_column(Id)
    reason: Mapped[str] = mapped_column(Text)
    who: Mapped[str] = mapped_column(Name)
    written_at: Mapped[datetime] = mapped_column(UtcInstant)


R = TypeVar("R", bound=Record)
HELD = cast(Table, HeldRow.__table__)
SETTLED = cast(Table, SettledRow.__table__)
_ROW_OF: dict[type[Record], type[Base]] = {
    Visit: VisitRow,
    Reading: ReadingRow,
    TopUp: TopUpRow,
    Event: EventRow,
    **ROW_OF_STOCK,
}
TABLE_OF: dict[type[Record], Table] = {what: cast(Table, row.__table__) for what, row in _ROW_OF.items()}
_NAMES = {what: tuple(table.columns.keys()) for what, table in TABLE_OF.items()}


def record_from(what: type[R], row: Row[Any]) -> R:
    """Return a whole row of a table as the record it holds; columns and fields have the same names.

    It was tidied before it was written: to do that again would take longer than all the rest of reading a book.
    """
    record = object.__new__(what)
    vars(record).update(zip(_NAMES[what], row, strict=True))
    return record


def row_of(record: Record) -> dict[str, Any]:
    """Return a record as a row of its table."""
    return {item.name: getattr(record, item.name) for item in fields(record)}
