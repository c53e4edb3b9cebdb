"""How rows that were kept aside were settled; and readings found by kind and place without reading them all."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

from wetfoot.book.migrations.append_only import make_append_only

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and the index; what is there stays as it is."""
    op.create_table(
        "settled_rows",
        sa.Column("held_id", sa.String(36), sa.ForeignKey("held_rows.id", name="fk_settled_rows_held_id")),
        sa.Column("record_id", sa.String(36)),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("who", sa.String(100), nullable=False),
        sa.Column("written_at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("held_id", name="pk_settled_rows"),
    )
    make_append_only("settled_rows", ("held_id",))
    op.create_index("ix_readings_kind_place_at", "readings", ["kind", "place", "at"])
