"""Expected failures on their way out of a command: the message, and the exit code."""

from typing import IO, Any

import click


class Failure(click.ClickException):
    """The work failed."""

    exit_code = 1

    def show(self, file: IO[Any] | None = None) -> None:
        """Print the message to standard error, without a word before it."""
        click.echo(self.message, file=file, err=True)


class WrongUse(Failure):
    """The request itself is wrong."""

    exit_code = 2


class Stopped(Failure):
    """Ctrl-C."""

    exit_code = 130
