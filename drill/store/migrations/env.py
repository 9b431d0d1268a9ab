"""Alembic's environment: migrates on the connection, and in the transaction, that it is handed."""

from __future__ import annotations

from alembic import context

from drill.store.models import Base

context.configure(
    connection=context.config.attributes["connection"],
    target_metadata=Base.metadata,
    render_as_batch=True,
)
with context.begin_transaction():
    context.run_migrations()
