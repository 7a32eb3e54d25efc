"""A progress bar by seconds of audio, on standard error and only for someone who watches."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from narrate.cli.printing import console

if TYPE_CHECKING:
    from rich.progress import Progress


class Bar:
    """One bar: what is in hand, how far all is, and how long it may take."""

    def __init__(self, bar: "Progress") -> None:
        self._bar = bar
        self._task = bar.add_task("", total=None, times="")

    def show(self, name: str, done_s: float, total_s: float) -> None:
        """Move the bar to seconds done of seconds in all."""
        from narrate.hear.clock import clock

        times = f"{clock(done_s)} of {clock(total_s)}" if total_s else ""
        self._bar.update(self._task, description=name, completed=done_s, total=total_s or None, times=times)

    def count(self, name: str, done: int, total: int) -> None:
        """Move the bar to things done of things in all."""
        self._bar.update(self._task, description=name, completed=done, total=total, times=f"{done} of {total}")

    @contextmanager
    def aside(self) -> Iterator[None]:
        """Take the bar away while something is printed."""
        self._bar.stop()
        yield
        self._bar.start()


@contextmanager
def progress_bar() -> Iterator[Bar]:
    """Show a bar until the block ends."""
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    screen = console(stderr=True)
    bar = Progress(
        TextColumn("{task.description}", markup=False),
        BarColumn(),
        TextColumn("{task.fields[times]}", markup=False),
        TimeRemainingColumn(),
        console=screen,
        transient=True,
        # What a command prints is not the bar's: redirected, data would go to standard error.
        redirect_stdout=False,
        redirect_stderr=False,
        disable=not screen.is_terminal,
    )
    with bar:
        yield Bar(bar)
