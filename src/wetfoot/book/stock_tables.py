"""The tables of planting stock; every column has the name of the field it holds."""

from __future__ import annotations

import json

from sqlalchemy import Dialect, Double, ForeignKey, Text, TypeDecorator
from sqlalchemy.orm import Mapped, mapped_column

from wetfoot.book.entries import Record
from wetfoot.book.stock_entries import Cutting, Harvest, HealthTest, Hold, Lot, Move, Planting, Shipment, StoreCheck
from wetfoot.book.table_base import Base, Name, Word, Written


class Names(TypeDecorator[tuple[str, ...]]):
    """Several names in one cell, as a JSON list."""

    impl = Text
    cache_ok = True

    def process_bind_param(self, value: tuple[str, ...] | None, dialect: Dialect) -> str | None:
        """Return the names as they are stored."""
        return None if value is None else json.dumps(list(value), ensure_ascii=False)

    def process_result_value(self, value: str | None, dialect: Dialect) -> tuple[str, ...] | None:
        """Return the stored names."""
        return None if value is None else tuple(json.loads(value))


class LotRow(Written, Base):
    """A quantity of planting stock with one origin."""

    __tablename__ = "lots"

    lot: Mapped[str] = mapped_column(Name)
    parents: Mapped[tuple[str, ...]] = mapped_column(Names)
    generation: Mapped[int | None]
    species: Mapped[str | None] = mapped_column(Name)
    cultivar: Mapped[str | None] = mapped_column(Name)
    source: Mapped[str | None] = mapped_column(Name)
    permit: Mapped[str | None] = mapped_column(Name)
    kg: Mapped[float | None] = mapped_column(Double)


class CuttingRow(Written, Base):
    """A batch of seed pieces cut from a lot."""

    __tablename__ = "cuttings"

    batch: Mapped[str] = mapped_column(Name)
    lot: Mapped[str] = mapped_column(Name)
    pieces: Mapped[int]
    kg: Mapped[float | None] = mapped_column(Double)
    knife: Mapped[str | None] = mapped_column(Name)
    disinfectant: Mapped[str | None] = mapped_column(Name)
    dip_c: Mapped[float | None] = mapped_column(Double)
    dip_minutes: Mapped[float | None] = mapped_column(Double)


class PlantingRow(Written, Base):
    """Pieces that were planted into a pot."""

    __tablename__ = "plantings"

    pot: Mapped[str] = mapped_column(Name)
    place: Mapped[str] = mapped_column(Name)
    pieces: Mapped[int]
    batch: Mapped[str | None] = mapped_column(Name)
    lot: Mapped[str | None] = mapped_column(Name)
    kg: Mapped[float | None] = mapped_column(Double)


class MoveRow(Written, Base):
    """A pot that was moved from one bank to another."""

    __tablename__ = "moves"

    pot: Mapped[str] = mapped_column(Name)
    place: Mapped[str] = mapped_column(Name)
    to: Mapped[str] = mapped_column(Name)


class HarvestRow(Written, Base):
    """What was weighed of a pot into a lot, or culled of either."""

    __tablename__ = "harvests"

    lot: Mapped[str] = mapped_column(Name)
    kg: Mapped[float] = mapped_column(Double)
    pot: Mapped[str | None] = mapped_column(Name)
    place: Mapped[str | None] = mapped_column(Name)
    grade: Mapped[str | None] = mapped_column(Name)
    cause: Mapped[str | None] = mapped_column(Text)


class StoreCheckRow(Written, Base):
    """A look at a lot in store."""

    __tablename__ = "store_checks"

    lot: Mapped[str] = mapped_column(Name)
    kg: Mapped[float] = mapped_column(Double)
    rot_kg: Mapped[float] = mapped_column(Double)
    temperature_c: Mapped[float | None] = mapped_column(Double)
    humidity: Mapped[float | None] = mapped_column(Double)


class ShipmentRow(Written, Base):
    """Kilograms of a lot that went to somebody."""

    __tablename__ = "shipments"

    lot: Mapped[str] = mapped_column(Name)
    kg: Mapped[float] = mapped_column(Double)
    to: Mapped[str] = mapped_column(Name)
    permit: Mapped[str | None] = mapped_column(Name)


class AboutRow(Written):
    """The columns that say what a test or a hold is about."""

    lot: Mapped[str | None] = mapped_column(Name)
    batch: Mapped[str | None] = mapped_column(Name)
    pot: Mapped[str | None] = mapped_column(Name)
    place: Mapped[str | None] = mapped_column(Name)


class HealthTestRow(AboutRow, Base):
    """A test for a disease agent."""

    __tablename__ = "tests"

    agent: Mapped[str] = mapped_column(Name)
    result: Mapped[str] = mapped_column(Word)
    method: Mapped[str | None] = mapped_column(Name)
    lab: Mapped[str | None] = mapped_column(Name)
    detection_limit: Mapped[str | None] = mapped_column(Name)
    samples: Mapped[int | None]
    pool_size: Mapped[int | None]
    sensitivity: Mapped[float | None] = mapped_column(Double)
    specificity: Mapped[float | None] = mapped_column(Double)
    confirms: Mapped[str | None] = mapped_column(ForeignKey("tests.id"))


class HoldRow(AboutRow, Base):
    """Something that may not be used or sent from now on, or may again."""

    __tablename__ = "holds"

    kind: Mapped[str] = mapped_column(Word)
    cause: Mapped[str] = mapped_column(Text)


ROW_OF_STOCK: dict[type[Record], type[Base]] = {
    Lot: LotRow,
    Cutting: CuttingRow,
    Planting: PlantingRow,
    Move: MoveRow,
    Harvest: HarvestRow,
    StoreCheck: StoreCheckRow,
    Shipment: ShipmentRow,
    HealthTest: HealthTestRow,
    Hold: HoldRow,
}
