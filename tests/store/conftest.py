"""A fresh store a test, on SQLite and on PostgreSQL."""

import shutil
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from narrate.store.engine import Store, open_store


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
