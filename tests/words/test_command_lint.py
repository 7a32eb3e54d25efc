"""The lint of spoken commands: what they must not sound like."""

from dataclasses import replace
from typing import Any

import pytest
from small_lexicon import SMALL

from narrate.words.command_lint import lint_commands
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon


def with_command(command: str, *says: str, heard: tuple[str, ...] = ()) -> Lexicon:
    """The small lexicon with other words for a command."""
    commands = SMALL.commands
    assert commands is not None
    entry = commands.command[command].model_copy(update={"says": says, "heard": heard})  # type: ignore[index]
    return replace(SMALL, commands=commands.model_copy(update={"command": {**commands.command, command: entry}}))


def with_component(name: str) -> Lexicon:
    made: Any = SMALL.components["brake_rotor"].model_copy(
        update={"name": name, "gb": None, "aliases": (), "short": ()}
    )
    return replace(SMALL, components={**SMALL.components, "made": made})


def test_narrates_own_commands_sound_like_nothing_else() -> None:
    assert list(lint_commands(load_lexicon())) == []


@pytest.mark.parametrize("name", ["australia mark this", "ostrich take a picture", "austrian next car"])
def test_a_part_that_would_be_taken_for_a_command_is_an_error(name: str) -> None:
    remarks = list(lint_commands(with_component(name)))
    assert remarks
    assert {remark.level for remark in remarks} == {"error"}
    assert any(f"'{name}'" in remark.message and "say it in other words" in remark.message for remark in remarks)


def test_a_command_that_sounds_like_a_part_is_an_error() -> None:
    commands = SMALL.commands
    assert commands is not None
    renamed = replace(SMALL, commands=commands.model_copy(update={"address": "brake", "address_heard": ()}))
    entry = commands.command["mark"].model_copy(update={"says": ("rotors",), "heard": ()})
    renamed = replace(renamed, commands=renamed.commands.model_copy(update={"command": {"mark": entry}}))  # type: ignore[union-attr]
    messages = [remark.message for remark in lint_commands(renamed)]
    assert any("'brake rotors' would be taken for it" in message for message in messages)
    assert any("'brake rotors' sounds like 'brake rotors'" in message for message in messages)


def test_two_commands_that_sound_alike_are_an_error() -> None:
    [remark] = lint_commands(with_command("mark", "next vehicles"))
    assert (remark.place, remark.level) == ("command.next_vehicle", "error")
    assert "'australia next vehicle' sounds like 'australia next vehicles' of mark" in remark.message
