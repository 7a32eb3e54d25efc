"""The commands say what they do, quickly, and end with the promised exit codes."""

import subprocess
import sys
import time
from collections.abc import Iterator

import click
import pytest
from cli_fakes import Run

from narrate.cli.main import COMMANDS, cli

HEAVY = {"av", "ctranslate2", "faster_whisper", "numpy", "onnxruntime", "pydantic", "rich", "scipy", "spacy"}


def commands(group: click.Group = cli, path: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], click.Command]]:
    """Every command with its path, groups too."""
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        assert command is not None
        yield (*path, name), command
        if isinstance(command, click.Group):
            yield from commands(command, (*path, name))


ALL = list(commands())


@pytest.mark.parametrize(("path", "command"), ALL, ids=[" ".join(path) for path, _ in ALL])
def test_every_command_and_option_has_help(path: tuple[str, ...], command: click.Command) -> None:
    """Nobody has to guess what a command or an option is for."""
    assert path[-1] == command.name
    assert command.help
    for parameter in command.params:
        if isinstance(parameter, click.Option):
            assert parameter.help, parameter.name


@pytest.mark.parametrize("name", COMMANDS)
def test_help_is_shown(name: str, run: Run) -> None:
    """--help prints the command's help and is no error."""
    result = run(name, "--help")
    assert 0 == result.exit_code
    assert f"Usage: cli {name}" in result.stdout


def test_short_help_fits_a_line(run: Run) -> None:
    """The list of commands is not cut off anywhere."""
    listed = run("--help")
    assert "..." not in listed.stdout.split("Commands:")[1]


@pytest.mark.parametrize(
    "line", [["nonsense"], ["process"], ["process", "no such file.wav"], ["find", "--colour", "-"], ["schema", "x"]]
)
def test_wrong_use_exits_with_2(line: list[str], run: Run) -> None:
    """An unknown command, option, file or name is wrong use: nothing on standard output, why on the other."""
    result = run(*line)
    assert 2 == result.exit_code
    assert "" == result.stdout
    assert result.stderr.strip()


def test_the_help_needs_nothing_heavy() -> None:
    """`narrate --help` imports no engine and no reader of records, and answers at once."""
    code = (
        "import sys\nfrom narrate.cli.main import main\nsys.argv = ['narrate', '--help']\n"
        "try:\n    main()\nexcept SystemExit:\n    print('loaded', *{m.split('.')[0] for m in sys.modules})"
    )
    start = time.perf_counter()
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    took_s = time.perf_counter() - start
    loaded = set(ran.stdout.splitlines()[-1].split())
    assert set() == HEAVY & loaded
    # Half a second is promised on a quiet machine; tests share theirs.
    assert took_s < 2.0


def test_the_package_needs_nothing_heavy() -> None:
    """`import narrate` imports no engine before a function is called."""
    code = "import sys, narrate; print(*{m.split('.')[0] for m in sys.modules})"
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert set() == (HEAVY | {"click", "jiwer", "rapidfuzz"}) & set(ran.stdout.split())
