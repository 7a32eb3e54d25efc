"""The tables can be brought up to date from every version there was, with all that is in them."""

from collections.abc import Callable
from contextlib import AbstractContextManager, closing
from pathlib import Path

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from made_walkarounds import walkaround
from sqlalchemy import CheckConstraint, Connection, inspect, text

from narrate.errors import StoreError
from narrate.store import engine, migrating
from narrate.store.engine import Store, open_store
from narrate.store.events import append
from narrate.store.keeping import add_within
from narrate.store.tables import metadata
from narrate.store.verifying import verify
from narrate.store.walkarounds import find_walkarounds, read_walkaround

VERSIONS = tuple(reversed(migrating._versions()))


@pytest.fixture(params=["sqlite", "postgresql"])
def address(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> str | None:
    """Where a store shall be; None is the data folder."""
    monkeypatch.delenv("NARRATE_STORE", raising=False)
    return None if request.param == "sqlite" else request.getfixturevalue("new_database")()


def open_at(folder: Path, address: str | None, version: str, monkeypatch: pytest.MonkeyPatch) -> Store:
    """Open a store as the program of that version would have."""

    def only_so_far(opened: object, writing: Callable[[], AbstractContextManager[Connection]]) -> None:
        migrating.migrate(opened, writing, to=version)

    with monkeypatch.context() as patched:
        patched.setattr(engine, "migrate", only_so_far)
        return open_store(folder, address)


def test_the_steps_lead_to_the_tables(tmp_path: Path, address: str | None) -> None:
    """What the steps make is what tables.py says: columns, types, keys, indexes, checks."""
    with closing(open_store(tmp_path / "data", address)) as store, store.reading() as connection:
        context = MigrationContext.configure(connection, opts={"compare_type": True})
        assert [] == compare_metadata(context, metadata)
        for table in metadata.tables.values():
            checks = {str(each.name) for each in table.constraints if isinstance(each, CheckConstraint)}
            assert checks == {str(each["name"]) for each in inspect(connection).get_check_constraints(table.name)}


@pytest.mark.parametrize("version", VERSIONS)
def test_every_earlier_version_comes_along(
    version: str, tmp_path: Path, address: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A store of that time, with a walkaround, a job and a setting in it, is whole afterwards."""
    data = tmp_path / "data"
    with closing(open_at(data, address, version, monkeypatch)) as old, old.writing() as connection:
        assert "w1" == add_within(connection, walkaround(), who="Dana").id
        append(connection, stream="shop", who="Pat", what="rate", body={"more": {"rate": "135.00"}})
        connection.execute(
            text(
                "INSERT INTO job (name, recordings, state, tries, done_s, total_s, added_at, added_by) "
                "VALUES ('bay 2.m4a', '[]', 'waiting', 0, 0, 61.4, '2026-11-27T09:00:00.000Z', 'Dana')"
            )
        )
    with closing(open_store(data, address)) as store:
        assert [] == verify(store)
        assert walkaround().findings == read_walkaround(store, "w1").walkaround.findings
        assert ["w1"] == [listed.id for listed in find_walkarounds(store, query="7abc")]
        with store.reading() as connection:
            assert ("bay 2.m4a", "") == tuple(connection.execute(text("SELECT name, why FROM job")).one())
            context = MigrationContext.configure(connection)
            assert VERSIONS[-1] == context.get_current_revision()


def test_opening_again_changes_nothing(tmp_path: Path, address: str | None) -> None:
    """Tables that are up to date are left alone, without even the writer's lock."""
    data = tmp_path / "data"
    with closing(open_store(data, address)) as store, store.writing(), closing(open_store(data, address)) as again:
        assert [] == find_walkarounds(again)


def test_tables_of_a_later_program_are_left_alone(tmp_path: Path, address: str | None) -> None:
    """An old program must not write what it does not understand."""
    data = tmp_path / "data"
    with closing(open_store(data, address)) as store, store.writing() as connection:
        connection.execute(text("UPDATE alembic_version SET version_num = '9999'"))
    with pytest.raises(StoreError, match=r"written by a later narrate \(tables 9999\); install"):
        open_store(data, address)


def test_a_step_that_fails_changes_nothing(
    tmp_path: Path, address: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The store stays at the version it was, and works once the step does."""
    data = tmp_path / "data"
    open_at(data, address, VERSIONS[0], monkeypatch).close()
    with monkeypatch.context() as patched:
        patched.setattr("alembic.op.create_index", lambda *_: 1 / 0)
        with pytest.raises(ZeroDivisionError):
            open_store(data, address)
    with closing(open_at(data, address, VERSIONS[0], monkeypatch)) as store, store.reading() as connection:
        assert VERSIONS[0] == MigrationContext.configure(connection).get_current_revision()
        assert "why" not in {column["name"] for column in inspect(connection).get_columns("job")}
    open_store(data, address).close()
