"""Bringing a store's tables up to date, by the steps in migrations/."""

from collections.abc import Callable
from contextlib import AbstractContextManager
from functools import cache
from pathlib import Path

from alembic import command
from alembic.config import Config
from alembic.runtime.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, Engine, text
from sqlalchemy.exc import DatabaseError

from narrate.errors import StoreError

HERE = Path(__file__).parent / "migrations"


def migrate(engine: Engine, writing: Callable[[], AbstractContextManager[Connection]], to: str = "head") -> None:
    """Bring the tables to version `to`, all steps or none. Raises StoreError for tables of a later program."""
    try:
        with engine.connect() as connection:
            present = _version(connection)
    except DatabaseError as error:
        where = engine.url.render_as_string(hide_password=True)
        message = f"The store {where} cannot be opened; check that it is there, is not damaged and may be written."
        raise StoreError(message) from error
    if present is not None and present not in _versions():
        message = f"The store was written by a later narrate (tables {present}); install that version or a newer one."
        raise StoreError(message)
    if present == (_versions()[0] if to == "head" else to):
        return
    with writing() as connection:
        config = _config()
        config.attributes["connection"] = connection
        command.upgrade(config, to)
        if engine.dialect.name == "sqlite" and connection.execute(text("PRAGMA foreign_key_check")).first():
            message = "The store's tables cannot be brought up to date: rows point to missing ones. All is as it was."
            raise StoreError(message)


def _version(connection: Connection) -> str | None:
    return MigrationContext.configure(connection).get_current_revision()


@cache
def _versions() -> tuple[str, ...]:
    """All versions, the newest first."""
    return tuple(each.revision for each in ScriptDirectory.from_config(_config()).walk_revisions())


def _config() -> Config:
    config = Config()
    # Alembic reads % as the start of a variable.
    config.set_main_option("script_location", str(HERE).replace("%", "%%"))
    return config
