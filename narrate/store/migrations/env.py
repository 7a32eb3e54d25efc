"""What Alembic runs: the steps, on the connection and in the transaction that store/migrating.py gives."""

from alembic import context

# Importing the tables enters them: all are in one list.
from narrate.store import capture_tables, estimate_tables  # noqa: F401
from narrate.store.tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
