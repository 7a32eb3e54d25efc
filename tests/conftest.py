"""What all tests share: cases without a time limit, and a PostgreSQL server that is thrown away after the session."""

import itertools
import os
import pwd
import shutil
import subprocess
import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from hypothesis import settings
from sqlalchemy import NullPool, create_engine, text

from narrate.store.engine import open_store
from narrate.store.tables import metadata

# How long a case takes says how busy the machine is; speed is measured in benchmarks.
settings.register_profile("narrate", deadline=None)
settings.load_profile("narrate")
PROGRAMS = ("initdb", "pg_ctl")
FAST = "-c fsync=off -c full_page_writes=off -c synchronous_commit=off -c shared_buffers=32MB -c listen_addresses=''"
"""What a server may leave out whose data nobody will miss; it listens on a socket in its own folder only."""


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Say what one process runs where several share the work: a file, but all that opens a browser together.

    While a browser is open its event loop runs, and in the same process tests that run loops of their own cannot.
    """
    browser = Path(__file__).parent / "browser"
    for item in items:
        group = "browser" if browser in item.path.parents else item.path.name
        item.add_marker(pytest.mark.xdist_group(group))


@pytest.fixture(scope="session")
def server() -> Iterator[str]:
    """The address of a PostgreSQL server, as far as the name of the database."""
    programs = _programs()
    # Not pytest's own folder: the path of a socket is short, and another user must get there.
    folder = Path(tempfile.mkdtemp(prefix="narrate-"))
    try:
        _run_server(programs, folder, "start")
        try:
            yield f"postgresql://postgres@/{{}}?host={folder}"
        finally:
            _run_server(programs, folder, "stop")
    finally:
        shutil.rmtree(folder, ignore_errors=True)


@pytest.fixture(scope="session")
def new_database(server: str) -> Iterator[Callable[[], str]]:
    """Make an empty database, without tables, and return its address."""
    ask = create_engine(_driven(server.format("postgres")), isolation_level="AUTOCOMMIT")
    numbers = itertools.count(1)

    def make() -> str:
        name = f"store_{next(numbers)}"
        with ask.connect() as connection:
            connection.execute(text(f"CREATE DATABASE {name}"))
        return server.format(name)

    yield make
    ask.dispose()


@pytest.fixture(scope="session")
def emptied_database(
    new_database: Callable[[], str], tmp_path_factory: pytest.TempPathFactory
) -> Iterator[Callable[[], str]]:
    """Empty the one database that tests take in turn, and return its address: ten times faster than a new one."""
    address = new_database()
    open_store(tmp_path_factory.mktemp("pattern"), address).close()
    ask = create_engine(_driven(address), isolation_level="AUTOCOMMIT", poolclass=NullPool)
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


def _driven(address: str) -> str:
    return address.replace("://", "+psycopg://")


def _programs() -> Path:
    """The folder with PostgreSQL's server programs, the newest version's."""
    on_path = shutil.which("initdb")
    installed = sorted(Path("/usr/lib/postgresql").glob("*/bin"), key=lambda path: float(path.parent.name))
    for folder in [*reversed(installed), *([Path(on_path).parent] if on_path else [])]:
        if all((folder / program).is_file() for program in PROGRAMS):
            return folder
    message = "The tests of the store need a PostgreSQL server: type 'sudo apt-get install postgresql'."
    raise pytest.fail.Exception(message)


def _run_server(programs: Path, folder: Path, what: str) -> None:
    """Start a server in a new folder, or stop it."""
    data = folder / "data"
    control = [programs / "pg_ctl", "--pgdata", data, "-w", "-s"]
    if what == "stop":
        _as_another(folder, [*control, "-m", "immediate", "stop"])
        return
    quickly = ["--no-sync", "--auth=trust", "--username=postgres", "--encoding=UTF8", "--locale=C.UTF-8"]
    _as_another(folder, [programs / "initdb", "--pgdata", data, *quickly])
    options = f"{FAST} -c unix_socket_directories={folder}"
    _as_another(folder, [*control, "-l", folder / "log", "-o", options, "start"])


def _as_another(folder: Path, command: list[Path | str]) -> None:
    """Run a program, which refuses to run as root, as a user without rights."""
    if os.getuid() == 0:
        user = next(each.pw_name for name in ("postgres", "nobody") for each in pwd.getpwall() if each.pw_name == name)
        shutil.chown(folder, user)
        command = ["setpriv", f"--reuid={user}", f"--regid={pwd.getpwnam(user).pw_gid}", "--clear-groups", *command]
    done = subprocess.run(command, check=False, capture_output=True, text=True, cwd=folder, stdin=subprocess.DEVNULL)
    assert done.returncode == 0, done.stderr
