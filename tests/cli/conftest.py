"""A command line that touches nothing of the machine: own folders, default settings, fake hearing."""

from functools import cache
from pathlib import Path

import pytest
from cli_fakes import FakeProcess, Run
from click.testing import CliRunner, Result

from narrate.cli.main import cli
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon


@pytest.fixture(autouse=True)
def at(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty current folder and a shop without settings of its own."""
    settings = tmp_path / "settings.toml"
    settings.touch()
    monkeypatch.setenv("NARRATE_SETTINGS", str(settings))
    monkeypatch.setenv("NARRATE_DATA", str(tmp_path / "data"))
    folder = tmp_path / "here"
    folder.mkdir()
    monkeypatch.chdir(folder)
    return folder


@pytest.fixture(autouse=True)
def one_lexicon(monkeypatch: pytest.MonkeyPatch) -> None:
    """narrate's own lexicon is made ready once for all tests: that takes seconds each time."""
    monkeypatch.setattr("narrate.words.load.load_lexicon", _shared)


@cache
def _shared(folder: Path | None = None) -> Lexicon:
    return load_lexicon(folder)


@pytest.fixture
def run() -> Run:
    """Run a command line; the result has exit code, standard output and standard error apart."""

    def command(*arguments: object, stdin: str | None = None) -> Result:
        result = CliRunner().invoke(cli, [str(argument) for argument in arguments], input=stdin)
        if result.exception and not isinstance(result.exception, SystemExit):
            raise result.exception
        return result

    return command


@pytest.fixture
def process(monkeypatch: pytest.MonkeyPatch) -> FakeProcess:
    """Hearing and finding that need no model."""
    fake = FakeProcess()
    monkeypatch.setattr("narrate.pipeline.process_recordings", fake)
    return fake
