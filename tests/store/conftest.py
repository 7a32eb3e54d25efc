"""A fresh store a test, on SQLite and on PostgreSQL."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import create_engine, text

from narrate.store.engine import Store, open_store
from narrate.store.tables import metadata


@pytest.fixture(scope="session")
def emptied_database(
    new_database: Callable[[], str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[[], str]]:
    """Empty the one database that tests take in turn, and return its address: ten times faster than a new one."""
    address = new_database()
    open_store(tmp_path_factory.mktemp("pattern"), address).close()
    ask = create_engine(_driven(address), isolation_level="AUTOCOMMIT")
    names = ", ".join(metadata.tables)

    def empty() -> str:
        with ask.connect() as connection:
            # Whoever a test killed or left behind may hold locks; and triggers guard the events.
            others = "FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()"
            connection.execute(text(f"SELECT pg_terminate_backend(pid) {others}"))
            connection.execute(text("SET session_replication_role = replica"))
            connection.execute(text(f"TRUNCATE {names} RESTART IDENTITY"))
        return address

    yield empty
    ask.dispose()


@pytest.fixture(scope="session")
def sqlite_pattern(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A data folder with an empty SQLite store."""
    folder = tmp_path_factory.mktemp("pattern") / "data"
    open_store(folder).close()
    return folder


@pytest.fixture(params=["sqlite", "postgresql"])
def store(request: pytest.FixtureRequest, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    """An empty store on each engine."""
    monkeypatch.delenv("NARRATE_STORE", raising=False)
    data = tmp_path / "data"
    if request.param == "sqlite":
        shutil.copytree(request.getfixturevalue("sqlite_pattern"), data)
        opened = open_store(data)
    else:
        opened = open_store(data, request.getfixturevalue("emptied_database")())
    yield opened
    opened.close()


@pytest.fixture
def open_again(store: Store) -> Iterator[Callable[[], Store]]:
    """Open the same store once more, as another program would."""
    opened: list[Store] = []
    url = None if store.engine.dialect.name == "sqlite" else store.engine.url.render_as_string(hide_password=False)

    def again() -> Store:
        opened.append(open_store(store.folder, url))
        return opened[-1]

    yield again
    for each in opened:
        each.close()


def _driven(address: str) -> str:
    return address.replace("://", "+psycopg://")
