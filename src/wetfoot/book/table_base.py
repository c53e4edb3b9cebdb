"""What all tables of a book have in common: how instants are kept, and the columns of every record."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from sqlalchemy import CheckConstraint, DateTime, Dialect, ForeignKey, MetaData, String, Text, TypeDecorator
from sqlalchemy.orm import DeclarativeBase, Mapped, declared_attr, mapped_column

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

    @staticmethod
    def checks() -> tuple[Any, ...]:
        """Return the checks of every table of records."""
        return (
            CheckConstraint("supersedes <> id", name="not_itself"),
            CheckConstraint("supersedes IS NULL OR reason IS NOT NULL", name="reason_given"),
        )

    @declared_attr.directive
    def __table_args__(cls) -> tuple[Any, ...]:  # noqa: N805
        return cls.checks()
