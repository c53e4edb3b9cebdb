"""The first tables: visits, readings, top-ups, events, and rows of files that could not be read."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from wetfoot.book.migrations.append_only import make_append_only
from wetfoot.book.migrations.record_table import make_record_table

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables, and let rows only be added to them."""
    make_record_table("visits")
    make_record_table(
        "readings",
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("value", sa.Double(), nullable=False),
        sa.Column("place", sa.String(100)),
        sa.Column("pot", sa.Integer()),
        sa.Column("typed", sa.Text()),
        sa.Column("temperature_c", sa.Double()),
        sa.Column("compensated", sa.Boolean(), nullable=False),
        _visit("readings"),
    )
    make_record_table(
        "top_ups",
        sa.Column("place", sa.String(100), nullable=False),
        sa.Column("water_l", sa.Double()),
        sa.Column("stock_a_l", sa.Double()),
        sa.Column("stock_b_l", sa.Double()),
        _visit("top_ups"),
    )
    make_record_table(
        "events",
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("place", sa.String(100)),
        sa.Column("pot", sa.Integer()),
        _visit("events"),
    )
    _held_rows()


def _visit(table: str) -> sa.Column[Any]:
    return sa.Column("visit_id", sa.String(36), sa.ForeignKey("visits.id", name=f"fk_{table}_visit_id"))


def _held_rows() -> None:
    op.create_table(
        "held_rows",
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("file", sa.Text(), nullable=False),
        sa.Column("row_number", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("cells", sa.JSON(), nullable=False),
        sa.Column("who", sa.String(100), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_held_rows"),
    )
    make_append_only("held_rows")
