"""Planting stock: lots, cuttings, plantings, moves, harvests, store checks, shipments, tests, holds."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa

from wetfoot.book.migrations.record_table import make_record_table

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the new tables; those that are there stay as they are."""
    _plants()
    make_record_table("harvests", _need("lot"), _kg(), _name("pot"), _name("place"), _name("grade"), _text("cause"))
    make_record_table(
        "store_checks", _need("lot"), _kg(), _number("rot_kg", True), _number("temperature_c"), _number("humidity")
    )
    make_record_table("shipments", _need("lot"), _kg(), _need("to"), _name("permit"))
    _tests_and_holds()


def _plants() -> None:
    make_record_table(
        "lots",
        _need("lot"),
        sa.Column("parents", sa.Text(), nullable=False),
        _count("generation"),
        *(_name(name) for name in ("species", "cultivar", "source", "permit")),
        _number("kg"),
    )
    make_record_table(
        "cuttings",
        _need("batch"),
        _need("lot"),
        _count("pieces", True),
        _number("kg"),
        _name("knife"),
        _name("disinfectant"),
        _number("dip_c"),
        _number("dip_minutes"),
    )
    make_record_table(
        "plantings",
        _need("pot"),
        _need("place"),
        _count("pieces", True),
        _name("batch"),
        _name("lot"),
        _number("kg"),
    )
    make_record_table("moves", _need("pot"), _need("place"), _need("to"))


def _tests_and_holds() -> None:
    about = ("lot", "batch", "pot", "place")
    make_record_table(
        "tests",
        *(_name(name) for name in about),
        _need("agent"),
        sa.Column("result", sa.String(40), nullable=False),
        *(_name(name) for name in ("method", "lab", "detection_limit")),
        _count("samples"),
        _count("pool_size"),
        _number("sensitivity"),
        _number("specificity"),
        sa.Column("confirms", sa.String(36), sa.ForeignKey("tests.id", name="fk_tests_confirms")),
    )
    kind = sa.Column("kind", sa.String(40), nullable=False)
    make_record_table("holds", *(_name(name) for name in about), kind, _text("cause", True))


def _need(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.String(100), nullable=False)


def _name(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.String(100))


def _text(name: str, needed: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.Text(), nullable=not needed)


def _count(name: str, needed: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.Integer(), nullable=not needed)


def _number(name: str, needed: bool = False) -> sa.Column[Any]:
    return sa.Column(name, sa.Double(), nullable=not needed)


def _kg() -> sa.Column[Any]:
    return _number("kg", True)
