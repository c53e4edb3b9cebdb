"""The tables of a book. Rows are only ever added: the migrations set triggers that refuse all else."""

from __future__ import annotations

from dataclasses import fields
from datetime import UTC, datetime
from typing import Any, TypeVar, cast

from sqlalchemy import (
    JSON,
    CheckConstraint,
    DateTime,
    Dialect,
    Double,
    ForeignKey,
    Integer,
    MetaData,
    Row,
    String,
    Table,
    Text,
    TypeDecorator,
)
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

from wetfoot.book.entries import Event, Reading, Record, TopUp, Visit

HEAD = "0001"
"""The newest revision in `migrations/versions`: a book at this one is opened without loading Alembic."""

Id = String(36)
Name = String(100)
Word = String(40)


class UtcInstant(TypeDecorator[datetime]):
    """An instant, kept in UTC and given back with its offset, also where the database keeps none."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the instant in UTC, as it is stored."""
        if value is not None and value.utcoffset() is None:
            raise ValueError(f"an instant needs an offset from UTC, got {value!r}")
        return None if value is None else value.astimezone(UTC)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Return the stored instant with its offset."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class Base(DeclarativeBase):
    """All tables of a book; every constraint has a name, so that a later migration can speak of it."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_name)s",
            "uq": "uq_%(table_name)s_%(column_0_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )


class Written:
    """The columns that every record has. A row can be superseded once: `supersedes` is unique."""

    id: Mapped[str] = mapped_column(Id, primary_key=True)
    at: Mapped[datetime] = mapped_column(UtcInstant, index=True)
    zone: Mapped[str] = mapped_column(String(64))
    who: Mapped[str] = mapped_column(Name)
    note: Mapped[str | None] = mapped_column(Text)
    written_at: Mapped[datetime] = mapped_column(UtcInstant)
    reason: Mapped[str | None] = mapped_column(Text)
    doubt: Mapped[str | None] = mapped_column(Text)
    withdrawn: Mapped[bool]

    @declared_attr
    def supersedes(cls) -> Mapped[str | None]:  # noqa: N805 (SQLAlchemy passes the class)
        """The row of the same table that this one corrects."""
        target = f"{cls.__tablename__}.id"  # type: ignore[attr-defined]
        return mapped_column(Id, ForeignKey(target), unique=True)

    @declared_attr.directive
    def __table_args__(cls) -> tuple[Any, ...]:  # noqa: N805
        return (
            CheckConstraint("supersedes <> id", name="not_itself"),
            CheckConstraint("supersedes IS NULL OR reason IS NOT NULL", name="reason_given"),
        )


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


R = TypeVar("R", bound=Record)
HELD = cast(Table, HeldRow.__table__)
TABLE_OF: dict[type[Record], Table] = {
    Visit: cast(Table, VisitRow.__table__),
    Reading: cast(Table, ReadingRow.__table__),
    TopUp: cast(Table, TopUpRow.__table__),
    Event: cast(Table, EventRow.__table__),
}


def record_from(what: type[R], row: Row[Any]) -> R:
    """Return a row of a table as the record it holds; columns and fields have the same names."""
    return what(**row._asdict())


def row_of(record: Record) -> dict[str, Any]:
    """Return a record as a row of its table."""
    return {item.name: getattr(record, item.name) for item in fields(record)}
