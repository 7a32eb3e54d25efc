"""`narrate doctor`: whether everything narrate needs is here, in sentences."""

import sys
from collections.abc import Callable
from functools import partial
from pathlib import Path

import click

from narrate.cli.failure import Failure
from narrate.cli.options import data_option
from narrate.errors import NarrateError

OLDEST = (3, 11)


@click.command("doctor", short_help="Check that everything needed is here.")
@data_option
@click.option("--thorough", is_flag=True, help="Read every kept recording again, to see that it is unchanged.")
def doctor_command(data: Path | None, thorough: bool) -> None:
    """Check that everything narrate needs is here and whole; say what is wrong and what to do.

    Of the shop's store it checks that nothing in it was lost or changed behind narrate's back.
    """
    wrong = 0
    checks: dict[str, Callable[[], str]] = {
        **CHECKS,
        "Store": partial(_store, data, thorough),
        "Queue": partial(_queue, data),
    }
    for what, check in checks.items():
        try:
            click.echo(f"{what}: {check()}")
        except NarrateError as error:
            wrong += 1
            click.echo(f"{what}: WRONG. {error}")
    if wrong:
        message = "Something narrate needs is missing; do what the lines marked WRONG say."
        raise Failure(message)


def _python() -> str:
    running = ".".join(map(str, sys.version_info[:3]))
    if sys.version_info < OLDEST:
        message = f"This is Python {running}; install Python {OLDEST[0]}.{OLDEST[1]} or later."
        raise NarrateError(message)
    return f"{running}."


def _settings() -> str:
    from narrate.settings import load_settings

    settings = load_settings()
    return f"fine (market {settings.market}, driver on the {settings.driver_sits}, model {settings.model})."


def _cache() -> str:
    from narrate.settings import cache_folder

    folder = cache_folder()
    probe = folder / ".writable"
    try:
        folder.mkdir(parents=True, exist_ok=True)
        probe.touch()
        probe.unlink()
    except OSError as error:
        message = (
            f"{folder} cannot be written ({error.strerror}); change its permissions, or set NARRATE_CACHE to "
            "another folder."
        )
        raise NarrateError(message) from error
    return f"{folder}."


def _lexicon() -> str:
    from narrate.words.load import load_lexicon

    return f"fine ({len(load_lexicon().components)} components)."


def _model() -> str:
    from narrate.hear.manifest import manifest
    from narrate.hear.weights import model_folder, verify_model
    from narrate.settings import load_settings

    name = load_settings().model
    folder = verify_model(name) if name in manifest() else model_folder(name)
    if folder is None:
        return f"{name}, which faster-whisper fetches over the network when it is first used."
    return f"{name}, whole, in {folder}."


def _other_models() -> str:
    from narrate.hear.weights import list_models

    installed = [state.name for state in list_models() if state.installed or state.ready]
    return f"{', '.join(installed) or 'none'}."


def _sound() -> str:
    import tempfile
    import wave

    from narrate.hear.audio import RATE, decode

    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "silence.wav"
        with wave.open(str(path), "wb") as file:
            file.setparams((1, 2, RATE, RATE, "NONE", ""))
            file.writeframes(bytes(2 * RATE))
        try:
            decode(path, min_duration_s=0.5, max_duration_s=2.0)
        except ImportError as error:
            message = f"PyAV cannot be loaded ({error}); run 'pip install --force-reinstall av'."
            raise NarrateError(message) from error
    return "fine."


def _recognition() -> str:
    try:
        import ctranslate2
    except ImportError as error:
        message = f"CTranslate2 cannot be loaded ({error}); run 'pip install --force-reinstall ctranslate2'."
        raise NarrateError(message) from error
    return f"fine (CTranslate2 {ctranslate2.__version__})."


def _store(data: Path | None, thorough: bool) -> str:
    from narrate.settings import data_folder, store_url
    from narrate.store.engine import FILE, open_store
    from narrate.store.events import head
    from narrate.store.verifying import verify

    folder = data_folder(data)
    if store_url() is None and not (folder / FILE).is_file():
        return f"none yet in {folder}."
    store = open_store(folder)
    try:
        problems = verify(store, deep=thorough)
        number, digest = head(store)
    finally:
        store.close()
    if problems:
        message = "\n".join(("It does not hold together:", *(f"  {problem}" for problem in problems)))
        raise NarrateError(message)
    return f"whole, in {folder} ({number} events; the last one's digest begins {digest[:12]})."


def _queue(data: Path | None) -> str:
    from narrate.settings import data_folder, store_url
    from narrate.store.engine import FILE, open_store
    from narrate.store.forgetting import is_unfinished
    from narrate.store.queue_state import queue_state
    from narrate.work.watching import queue_problems, say_queue

    folder = data_folder(data)
    if store_url() is None and not (folder / FILE).is_file():
        return "none yet."
    store = open_store(folder)
    try:
        state = queue_state(store)
        problems = queue_problems(state, folder)
        if is_unfinished(store):
            problems.append("Files that were forgotten are still there; run 'narrate forget --due' to delete them.")
    finally:
        store.close()
    if problems:
        message = "\n".join((say_queue(state), *(f"  {problem}" for problem in problems)))
        raise NarrateError(message)
    return say_queue(state)


CHECKS: dict[str, Callable[[], str]] = {
    "Python": _python,
    "Settings": _settings,
    "Folder for what can be made again": _cache,
    "Lexicon": _lexicon,
    "Decoding of recordings": _sound,
    "Recognition": _recognition,
    "Speech model": _model,
    "Installed speech models": _other_models,
}
"""What is checked besides the store, in the order of what rests on what; each returns a sentence or raises an error."""
