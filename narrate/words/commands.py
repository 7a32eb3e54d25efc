"""Spoken commands made ready: which words mean which, how they sound, and whether they sound like anything else."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

from narrate.records.capture import CommandId
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words
from narrate.words.sounds import alike, load_speller

SOUNDS_LIKE = 0.82
"""How alike words must sound to a command to be taken for it (words/sounds.py: 0 to 1)."""
AHEAD = 0.04
"""How much nearer a command must sound than the next one."""
ADDRESSED = 0.75
"""How alike its first word or two must sound to the address."""
PARTS = ((0.6, 0.78), (0.9, 0.62))
"""What is enough for the address and for the phrase where the whole does not sound so: noise spoils the address most,
and who surely said it meant something by it. In 100,000 words of narrations and complaints (11 hours) nothing reaches
either pair, even as if there were a pause between any two words."""
PERHAPS = 0.5
"""How alike words must sound to the address to be worth hearing again."""
OPENING = 4
"""Most words that are heard for the address in noise, such as `I'll straight away`."""

Words = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Commands:
    """All ways to say all commands."""

    exact: Mapping[Words, CommandId]
    """As they are written, and as recognizers write them."""
    sounds: tuple[tuple[str, CommandId], ...]
    """How each phrase sounds, without the address."""
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
        return self.understood(words)[0]

    def understood(self, words: Sequence[str]) -> tuple[CommandId | None, float]:
        """The same, and how like it the words are, 0 to 1."""
        bare = self._bare(words)
        known = self.exact.get(bare)
        if known or not 1 < len(bare) <= self.longest + OPENING - 1:
            return known, 1.0 if known else 0.0
        heard = _sounding(bare)
        command = self._as_a_whole(heard) or self._by_parts(heard)
        said = "".join(heard)
        whole = (alike(said, self.address + sounds) for sounds, other in self.sounds if other == command)
        return command, max(whole, default=0.0)

    def begins(self, words: Sequence[str], *, likeness: float = PARTS[0][0]) -> bool:
        """Whether words begin with the address, or with some that sound like it."""
        if any(tuple(words[: len(opening)]) == opening for opening in self.openings):
            return True
        heard = _sounding(words[:OPENING])
        return any(alike("".join(heard[:count]), self.address) >= likeness for count in range(1, len(heard) + 1))

    def _as_a_whole(self, heard: Sequence[str]) -> CommandId | None:
        """heard: how the words sound, one by one."""
        addressed = any(alike("".join(heard[:count]), self.address) >= ADDRESSED for count in (1, 2))
        said = "".join(heard)
        best: dict[CommandId, float] = {}
        for sounds, command in self.sounds if addressed else ():
            best[command] = max(best.get(command, 0.0), alike(said, self.address + sounds))
        return _clearly(best, SOUNDS_LIKE)

    def _by_parts(self, heard: Sequence[str]) -> CommandId | None:
        for address_part, phrase_part in PARTS:
            best: dict[CommandId, float] = {}
            for count in range(1, min(OPENING, len(heard) - 1) + 1):
                if alike("".join(heard[:count]), self.address) < address_part:
                    continue
                rest = "".join(heard[count:])
                for sounds, command in self.sounds:
                    best[command] = max(best.get(command, 0.0), alike(rest, sounds))
            meant = _clearly(best, phrase_part)
            if meant:
                return meant
        return None

    def _bare(self, words: Sequence[str]) -> Words:
        first, last = 0, len(words)
        while first < last and words[first] in self.idle:
            first += 1
        while last > first and words[last - 1] in self.idle:
            last -= 1
        return tuple(words[first:last])


def _clearly(best: Mapping[CommandId, float], least: float) -> CommandId | None:
    """The command that is most alike, if it is so enough, and more than any other."""
    likeness, command = max(((likeness, command) for command, likeness in best.items()), default=(0.0, None))
    others = (other for which, other in best.items() if which != command)
    return command if likeness >= least and likeness - max(others, default=0.0) >= AHEAD else None


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
        address=sounds_of(file.address, lexicon),
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


def _sounds(lexicon: Lexicon) -> Iterator[tuple[str, CommandId]]:
    for command, entry in lexicon.commands.command.items() if lexicon.commands else ():
        for said in entry.says:
            yield sounds_of(said, lexicon), command


def sounds_of(said: str, lexicon: Lexicon) -> str:
    """How a phrase sounds, its words run together."""
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
