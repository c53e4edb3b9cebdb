"""The columns that every table of records has, as the migrations make them."""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

from wetfoot.book.migrations.append_only import make_append_only


def make_record_table(name: str, *own: sa.Column[Any]) -> None:
    """Make a table of records with some columns of its own, and let rows only be added to it."""
    op.create_table(
        name,
        sa.Column("id", sa.String(36), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("zone", sa.String(64), nullable=False),
        sa.Column("who", sa.String(100), nullable=False),
        sa.Column("note", sa.Text()),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("reason", sa.Text()),
        sa.Column("doubt", sa.Text()),
        sa.Column("withdrawn", sa.Boolean(), nullable=False),
        sa.Column("supersedes", sa.String(36), sa.ForeignKey(f"{name}.id", name=f"fk_{name}_supersedes")),
        *own,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.UniqueConstraint("supersedes", name=f"uq_{name}_supersedes"),
        sa.CheckConstraint("supersedes <> id", name=op.f(f"ck_{name}_not_itself")),
        sa.CheckConstraint("supersedes IS NULL OR reason IS NOT NULL", name=op.f(f"ck_{name}_reason_given")),
    )
    op.create_index(f"ix_{name}_at", name, ["at"])
    make_append_only(name, ("id", "supersedes"))
