"""Whether spoken commands sound like anything else that is said: parts, conditions, actions, or one another."""

from collections.abc import Iterator

from rapidfuzz.fuzz import ratio
from rapidfuzz.process import extract

from narrate.words.commands import commands_of, sounds_of, spoken_phrases
from narrate.words.lexicon import Lexicon
from narrate.words.remarks import Remark
from narrate.words.sounds import alike

TOO_ALIKE = 0.72
"""How alike a command and anything else of the lexicon may sound at most: well under what is taken for a command."""
COMMANDS_TOO_ALIKE = 0.86
"""The same for two different commands: what is heard must be nearer to the right one."""
COMPARED = 200
"""How many phrases of the lexicon, the nearest by their sounds' letters, are compared sound by sound."""


def lint_commands(lexicon: Lexicon) -> Iterator[Remark]:
    """Errors: a phrase somebody could mean otherwise would be carried out, or another command than was said."""
    yield from _taken_for_commands(lexicon)
    yield from _like_the_lexicon(lexicon)
    yield from _like_one_another(lexicon)


def _taken_for_commands(lexicon: Lexicon) -> Iterator[Remark]:
    """Phrases of the lexicon that would be understood as a command where they stand alone."""
    commands = commands_of(lexicon)
    for words in {phrase.words for phrase in lexicon.phrases()}:
        command = commands.meant(words)
        if command:
            yield _error(command, f"'{' '.join(words)}' would be taken for it")


def _like_the_lexicon(lexicon: Lexicon) -> Iterator[Remark]:
    names: dict[str, str] = {}
    for phrase in lexicon.phrases():
        name = " ".join(phrase.words)
        names.setdefault(sounds_of(name, lexicon), name)
    known = list(names)
    for command, said in spoken_phrases(lexicon):
        sounds = sounds_of(said, lexicon)
        near = extract(sounds, known, scorer=ratio, limit=COMPARED)
        likeness, name = max(((alike(sounds, other), names[other]) for other, *_ in near), default=(0.0, ""))
        if likeness > TOO_ALIKE:
            yield _error(command, f"'{said}' sounds like '{name}' ({likeness:.2f} of 1)")


def _like_one_another(lexicon: Lexicon) -> Iterator[Remark]:
    phrases = [(command, said, sounds_of(said, lexicon)) for command, said in spoken_phrases(lexicon)]
    for number, (command, said, sounds) in enumerate(phrases):
        for other, said_too, sounds_too in phrases[:number]:
            likeness = alike(sounds, sounds_too)
            if command != other and likeness > COMMANDS_TOO_ALIKE:
                yield _error(command, f"'{said}' sounds like '{said_too}' of {other} ({likeness:.2f} of 1)")


def _error(command: str, message: str) -> Remark:
    return Remark("error", f"{message}; say it in other words", f"command.{command}")
