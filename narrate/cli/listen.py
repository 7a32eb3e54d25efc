"""`narrate listen`: record a walk-round with this computer's own microphone."""

import signal
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure, Stopped
from narrate.cli.options import data_option, log_option
from narrate.cli.printing import say
from narrate.errors import UsageError

if TYPE_CHECKING:
    from narrate.hear.microphone import SoundSource
    from narrate.store.engine import Store
    from narrate.store.orders import Visit
    from narrate.work.listening import Listened

WHO = "narrate listen"
CHECK_S = 5.0
AT_ONCE = (
    "Stopped at once. What was recorded is kept: finish it on the page of 'narrate review', Recordings, "
    "“Begun and not ended”."
)


@click.command("listen", short_help="Record a walk-round with this computer's microphone.")
@data_option
@click.option("--device", metavar="NAME", help="The microphone: its number, or part of its name; else the usual one.")
@click.option("--list-devices", is_flag=True, help="Show the microphones there are.")
@click.option("--check", is_flag=True, help="Read a sentence aloud for five seconds, and be told how well it is heard.")
@click.option("--order", "number", metavar="NUMBER", help="The number of the order that the walk-round is for.")
@click.option("--by", default=WHO, metavar="NAME", help="Who speaks, for the history.")
@click.option(
    "--read-back",
    type=click.Choice(("each", "asked", "never")),
    default="asked",
    show_default=True,
    help="Whether each finding is written out again as it was understood, only what is asked for, or nothing.",
)
@click.option(
    "--silence",
    type=click.FloatRange(0.1, 120),
    default=5.0,
    show_default=True,
    metavar="MINUTES",
    help="Stop after so many minutes in which nobody speaks.",
)
@click.option("--no-live", is_flag=True, help="Record only; no words and findings while you speak.")
@log_option
def listen_command(
    data: Path | None,
    device: str | None,
    list_devices: bool,
    check: bool,
    number: str | None,
    by: str,
    read_back: str,
    silence: float,
    no_live: bool,
) -> None:
    """Record a walk-round, with words and findings as you speak; Ctrl-C ends it.

    Every second is on disk before the clock counts it. Words and findings shown meanwhile are provisional: the list
    comes from hearing the whole recording, which 'narrate review' or 'narrate worker' does. Needs the extra
    'microphone'.
    """
    from narrate.settings import data_folder, store_url
    from narrate.store.engine import open_store

    if list_devices:
        _show_microphones()
        return
    source = open_microphone(device)
    if check:
        _check(source)
        return
    store = open_store(data_folder(data), store_url())
    try:
        visit = _visit(store, number) if number else None
        try:
            with _asked_to_stop() as stop:
                listened = _listen(store, source, visit, by, read_back, silence * 60, stop, live=not no_live)
        except KeyboardInterrupt as error:
            raise Stopped(AT_ONCE) from error
        _tell_end(listened, source)
    finally:
        store.close()


def open_microphone(device: str | None) -> "SoundSource":
    """The microphone that is asked for."""
    from narrate.hear.microphone import Microphone

    return Microphone(device)


def _listen(
    store: "Store",
    source: "SoundSource",
    visit: "Visit | None",
    by: str,
    read_back: str,
    silence_s: float,
    stop: Callable[[], bool],
    *,
    live: bool,
) -> "Listened":
    from narrate.cli.listen_screen import Screen
    from narrate.settings import load_settings
    from narrate.store.shop import shop_settings
    from narrate.work.listening import Listening
    from narrate.work.listening_live import LiveBeside

    screen = Screen()
    listening = Listening(
        store=store,
        source=source,
        who=by,
        visit_id=visit.id if visit else None,
        silence_s=silence_s,
        tell=screen.show,
    )
    beside = None
    if live:
        beside = LiveBeside(
            store.folder,
            shop_settings(store, load_settings()),
            tell=screen.show,
            mark=listening.mark,
            order=visit.order if visit else None,
            read_back=read_back,  # type: ignore[arg-type]  # click has checked it
        )
        listening.feed = beside.feed
    say(f"\aRecording from {source.name}; Ctrl-C ends it.")
    try:
        return listening.until(lambda: stop() or screen.done_was_said)
    finally:
        if beside is not None:
            beside.end()
        screen.close()


def _tell_end(listened: "Listened", source: "SoundSource") -> None:
    from narrate.hear.clock import clock

    if listened.why:
        say(listened.why)
    if getattr(source, "missed", 0):
        say("The computer was too busy now and then to take all sound; a little is missing.")
    if listened.capture is None:
        message = "\aNothing was recorded."
        raise Failure(message)
    say(
        f"\aRecorded {clock(listened.seconds)}; it waits to be heard as job {listened.capture.job_id}. "
        "'narrate review' and 'narrate worker' hear what waits."
    )


def _check(source: "SoundSource") -> None:
    """Five seconds of reading aloud, judged; nothing is kept."""
    import numpy as np

    from narrate.hear.audio import RATE
    from narrate.hear.microphone_check import check_microphone
    from narrate.hear.whisper_engine import speech_in

    say("\aRead aloud: “Front brake pads are at five millimeters, rear tires are worn on the inside edge.”")
    sound = _taken(source, int(CHECK_S * RATE) * 2)
    samples = np.frombuffer(sound, dtype="<i2").astype(np.float32)
    samples /= 32_768
    found = check_microphone(samples, speech_in(samples))
    for sentence in found.sentences:
        click.echo(sentence)
    if not found.good:
        message = f"{source.name} is not ready yet."
        raise Failure(message)


def _taken(source: "SoundSource", count: int) -> bytes:
    """As many bytes of sound."""
    sound = bytearray()

    def enough() -> bool:
        return len(sound) >= count

    for block in source.blocks(enough):
        sound.extend(block)
    return bytes(sound)


def _show_microphones() -> None:
    from narrate.hear.microphone import list_microphones

    known = list_microphones()
    if not known:
        message = "There is no microphone here; plug one in."
        raise Failure(message)
    for each in known:
        click.echo(f"{each.number:>3}  {each.name}{'  (the usual one)' if each.usual else ''}")


def _visit(store: "Store", number: str) -> "Visit":
    from narrate.store.orders import list_orders

    wanted = number.strip().casefold()
    for visit in list_orders(store, query=number):
        if (visit.order.number or "").casefold() == wanted:
            return visit
    message = f"There is no order {number!r} in the store; add it on the page, or leave --order out."
    raise UsageError(message)


@contextmanager
def _asked_to_stop() -> Iterator[Callable[[], bool]]:
    """Tell whether Ctrl-C was pressed; the second one ends the program at once, and what is on disk stays."""
    asked: list[int] = []

    def ask(number: int, _frame: object) -> None:
        if asked:
            raise KeyboardInterrupt
        asked.append(number)

    before = {number: signal.signal(number, ask) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield lambda: bool(asked)
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)
