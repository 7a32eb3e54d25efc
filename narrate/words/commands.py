"""Spoken commands made ready: which words mean which, how they sound, and whether they sound like anything else."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from rapidfuzz.fuzz import ratio
from rapidfuzz.process import extract

from narrate.records.capture import CommandId
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words
from narrate.words.sounds import alike, load_speller

SOUNDS_LIKE = 0.82
"""How alike words must sound to a command to be taken for it (words/sounds.py: 0 to 1)."""
TOO_ALIKE = 0.72
"""How alike a command and anything else of the lexicon may sound at most: well under what is taken for a command."""
COMMANDS_TOO_ALIKE = 0.86
"""The same for two different commands: what is heard must be nearer to the right one."""
AHEAD = 0.04
"""How much nearer a command must sound than the next one."""
ADDRESSED = 0.75
"""How alike its first word or two must sound to the address."""
COMPARED = 600
"""How many phrases of the lexicon, the nearest by their sounds' letters, are compared sound by sound."""

Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Commands:
    """All ways to say all commands."""

    exact: Mapping[Words, CommandId]
    """As they are written, and as recognizers write them."""
    sounds: tuple[tuple[str, CommandId], ...]
    address: str
    """How the address sounds."""
    openings: frozenset[Words]
    """The address, and what is heard for it."""
    idle: frozenset[str]
    longest: int
    """Most words that a command has."""

    def meant(self, words: Sequence[str]) -> CommandId | None:
        """The command that these comparable words are, idle words around it aside; by sound where none is written so.

        >>> from narrate.words.load import load_lexicon
        >>> commands_of(load_lexicon()).meant(["uh", "australia", "mark", "this"])
        'mark'
        """
        bare = self._bare(words)
        known = self.exact.get(bare)
        if known or not 1 < len(bare) <= self.longest + 1 or not self.begins(bare):
            return known
        said = "".join(_sounding(bare))
        best: dict[CommandId, float] = {}
        for sounds, command in self.sounds:
            best[command] = max(best.get(command, 0.0), alike(said, sounds))
        first, second = sorted(best, key=lambda command: -best[command])[:2]
        return first if best[first] >= SOUNDS_LIKE and best[first] - best[second] >= AHEAD else None

    def begins(self, words: Sequence[str]) -> bool:
        """Whether words begin with the address, or with one or two that sound like it."""
        if any(tuple(words[: len(opening)]) == opening for opening in self.openings):
            return True
        heard = _sounding(words[:2])
        return any(alike("".join(heard[:count]), self.address) >= ADDRESSED for count in range(1, len(heard) + 1))

    def _bare(self, words: Sequence[str]) -> Words:
        first, last = 0, len(words)
        while first < last and words[first] in self.idle:
            first += 1
        while last > first and words[last - 1] in self.idle:
            last -= 1
        return tuple(words[first:last])


NONE = Commands({}, (), "", frozenset(), frozenset(), 0)


@lru_cache(maxsize=4)
def commands_of(lexicon: Lexicon) -> Commands:
    """The lexicon's commands; none where it has no such file."""
    file = lexicon.commands
    if file is None:
        return NONE
    openings = [phrase_words(said, lexicon.spelling) for said in (file.address, *file.address_heard)]
    exact: dict[Words, CommandId] = {}
    for command, entry in file.command.items():
        for said in (*entry.says, *entry.heard):
            for opening in openings:
                exact.setdefault((*opening, *phrase_words(said, lexicon.spelling)), command)
    return Commands(
        exact=exact,
        sounds=tuple(_sounds(lexicon)),
        address="".join(map(load_speller().sounds, openings[0])),
        openings=frozenset(openings),
        idle=frozenset(file.idle),
        longest=max(map(len, exact)),
    )


def spoken_phrases(lexicon: Lexicon) -> Iterator[tuple[CommandId, str]]:
    """(command, the whole of what is said), as it is taught first."""
    file = lexicon.commands
    for command, entry in file.command.items() if file else ():
        for said in entry.says:
            yield command, f"{file.address} {said}" if file else ""


def nearest_phrases(lexicon: Lexicon) -> Iterator[tuple[CommandId, str, str, float]]:
    """(command, its phrase, what of the lexicon sounds most like it, how alike) for each phrase of each command."""
    speller = load_speller()
    names: dict[str, str] = {}
    for phrase in lexicon.phrases():
        names.setdefault("".join(map(speller.sounds, phrase.words)), " ".join(phrase.words))
    for command, said in spoken_phrases(lexicon):
        sounds = _sounds_of(said, lexicon)
        near = extract(sounds, list(names), scorer=ratio, limit=COMPARED)
        likeness, name = max((alike(sounds, other), names[other]) for other, *_ in near)
        yield command, said, name, likeness


def alike_commands(lexicon: Lexicon) -> Iterator[tuple[str, str, float]]:
    """(phrase, phrase of another command, how alike) for all pairs."""
    phrases = [(command, said, _sounds_of(said, lexicon)) for command, said in spoken_phrases(lexicon)]
    for number, (command, said, sounds) in enumerate(phrases):
        for other, said_too, sounds_too in phrases[:number]:
            if command != other:
                yield said_too, said, alike(sounds, sounds_too)


def _sounds(lexicon: Lexicon) -> Iterator[tuple[str, CommandId]]:
    for command, said in spoken_phrases(lexicon):
        yield _sounds_of(said, lexicon), command


def _sounds_of(said: str, lexicon: Lexicon) -> str:
    return "".join(_sounding(phrase_words(said, lexicon.spelling)))


def _sounding(words: Sequence[str]) -> list[str]:
    """How words sound, one by one; an 's with the word it hangs on."""
    joined: list[str] = []
    for word in words:
        if word == "'s" and joined:
            joined[-1] += word
        else:
            joined.append(word)
    return [load_speller().sounds(word) for word in joined]
