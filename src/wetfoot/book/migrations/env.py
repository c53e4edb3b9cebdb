"""How Alembic reaches the book: over the connection, and in the transaction, of whoever opens it."""

from __future__ import annotations

from alembic import context

from wetfoot.book.tables import Base

if hasattr(context, "config"):  # not when something merely imports this file
    context.configure(connection=context.config.attributes["connection"], target_metadata=Base.metadata)
    with context.begin_transaction():
        context.run_migrations()
