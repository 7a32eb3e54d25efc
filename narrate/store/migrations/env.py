"""What Alembic runs: the steps, on the connection and in the transaction that store/migrating.py gives."""

from alembic import context

from narrate.store.estimate_tables import metadata

context.configure(connection=context.config.attributes["connection"], target_metadata=metadata, render_as_batch=True)
with context.begin_transaction():
    context.run_migrations()
