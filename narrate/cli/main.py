"""`narrate`: the commands, each loaded when it is asked for, and how errors reach people."""

from importlib import import_module
from typing import Any

import click

from narrate.cli.failure import Failure, Stopped, WrongUse
from narrate.errors import NarrateError, UsageError

COMMANDS = {
    "process": "narrate.cli.process:process_command",
    "review": "narrate.cli.review:review_command",
    "transcribe": "narrate.cli.transcribe:transcribe_command",
    "find": "narrate.cli.find:find_command",
    "judge": "narrate.cli.judge:judge_command",
    "export": "narrate.cli.export:export_command",
    "book": "narrate.cli.book:book_group",
    "estimate": "narrate.cli.estimate:estimate_command",
    "authorize": "narrate.cli.authorize:authorize_command",
    "reminders": "narrate.cli.reminders:reminders_command",
    "price": "narrate.cli.price:price_command",
    "explain": "narrate.cli.explain:explain_command",
    "demo": "narrate.cli.demo:demo_command",
    "score": "narrate.cli.score:score_command",
    "lexicon": "narrate.cli.lexicon:lexicon_group",
    "models": "narrate.cli.models:models_group",
    "schema": "narrate.cli.schema:schema_command",
    "doctor": "narrate.cli.doctor:doctor_command",
    "worker": "narrate.cli.worker:worker_command",
    "day": "narrate.cli.day:day_command",
    "listen": "narrate.cli.listen:listen_command",
    "backup": "narrate.cli.backup:backup_command",
    "restore": "narrate.cli.restore:restore_command",
    "forget": "narrate.cli.forget:forget_command",
}
"""In the order of use, as the help lists them."""


class Commands(click.Group):
    """A group that imports a command only when it is needed, and turns errors into sentences."""

    def list_commands(self, ctx: click.Context) -> list[str]:
        """Return the names in the order of use."""
        return list(COMMANDS)

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:
        """Return a command, or None for a name there is not."""
        place = COMMANDS.get(cmd_name)
        if place is None:
            return None
        module, _, name = place.partition(":")
        command: click.Command = getattr(import_module(module), name)
        return command

    def invoke(self, ctx: click.Context) -> Any:  # noqa: ANN401 - click's own signature
        """Run a command; the only place where narrate's errors become exit codes."""
        try:
            return super().invoke(ctx)
        except UsageError as error:
            raise WrongUse(str(error)) from error
        except NarrateError as error:
            raise Failure(str(error)) from error
        except KeyboardInterrupt as error:
            message = "Stopped; what was not finished has left nothing behind."
            raise Stopped(message) from error


@click.group(cls=Commands, context_settings={"help_option_names": ["-h", "--help"], "max_content_width": 100})
@click.version_option(package_name="narrate", prog_name="narrate")
def cli() -> None:
    """Turn a technician's recorded walk-round into a findings list that can be priced.

    Everything runs on this machine. Start with 'narrate demo', then 'narrate process RECORDING'.
    """


def main() -> None:
    """Run the command line."""
    cli(prog_name="narrate")
