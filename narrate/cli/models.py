"""`narrate models`: the speech models on this machine."""

from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure
from narrate.cli.options import json_option
from narrate.cli.printing import print_table, write_record

if TYPE_CHECKING:
    from narrate.hear.weights import ModelState


@click.group("models")
def models_group() -> None:
    """List the speech models, or check that they are whole."""


@models_group.command("list")
@json_option
def list_command(json_to: str | None) -> None:
    """List the speech models that can be installed as packages, and whether they are.

    Other models can be used too: name a folder, or a model that faster-whisper can fetch.
    """
    import json

    from narrate.hear.weights import list_models

    states = list_models()
    if json_to:
        write_record(json.dumps([state.model_dump() for state in states], indent=2), json_to)
    if json_to != "-":
        rows = [(it.name, _state(it), f"{it.bytes / 1e6:.0f} MB", it.licence, it.about) for it in states]
        print_table(("name", "state", "size", "licence", "what it is"), rows)


@models_group.command("verify")
@click.argument("name", required=False)
def verify_command(name: str | None) -> None:
    """Read every byte of a model, or of all that are installed, and compare it with the manifest."""
    from narrate.hear.weights import list_models, verify_model

    installed = [state.name for state in list_models() if state.installed or state.ready]
    if not name and not installed:
        message = "No speech model is installed; 'narrate models list' shows which there are."
        raise Failure(message)
    for each in [name] if name else installed:
        click.echo(f"{each}: whole, in {verify_model(each)}")


def _state(state: "ModelState") -> str:
    if state.ready:
        return "ready"
    return "installed" if state.installed else f"not installed ({' '.join(state.packages)})"
