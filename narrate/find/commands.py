"""Stage 0: commands among the words, what the technician tells narrate itself, standing alone between pauses."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from narrate.find.draft import Command, Draft
from narrate.find.vocabulary import Vocabulary
from narrate.records.capture import CommandId
from narrate.records.recording import Word
from narrate.words.commands import OPENING, PERHAPS, Commands, commands_of
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words

PAUSE_S = 0.2
"""Silence on each side of a command, at least. People pause longer; this is what recognizers leave of it."""
WORD_S, LETTER_S = 0.25, 0.06
"""How long a word takes unhurried. Recognizers stretch words into the silence beside them, so that often nothing is
left of a pause but a word that takes too long."""
STOPS = ".?!…"
ENDS = ".,;:!?…()[]\"“”'’"
_ALIKE = str.maketrans({"’": "'", "‘": "'"})


@dataclass(frozen=True, slots=True)
class Spoken:
    """A command and the words it was said in, inclusive numbers."""

    command: CommandId
    first: int
    last: int


def command_in(
    words: Sequence[Word], before_s: float | None, after_s: float | None, lexicon: Lexicon
) -> CommandId | None:
    """The command that these words are as a whole, if they stand alone; idle words around it do no harm.

    before_s, after_s: seconds of silence before the first and after the last word; None where nothing was said
    before or after it.
    """
    if any(pause_s is not None and pause_s < PAUSE_S for pause_s in (before_s, after_s)):
        return None
    return commands_of(lexicon).meant([part for word in words for part in _plain(word, lexicon)])


def spoken_commands(words: Sequence[Word], lexicon: Lexicon) -> tuple[Spoken, ...]:
    """All commands in the words of a recording, in order.

    Where words have no times, as in typed text, full stops stand for the pauses.
    """
    ready = commands_of(lexicon)
    if not ready.exact:
        return ()
    plain = [_plain(word, lexicon) for word in words]
    found: list[Spoken] = []
    at = 0
    while at < len(words):
        spoken = _command_at(words, plain, at, ready) if plain[at] and _may_begin(plain, at, ready) else None
        if spoken:
            found.append(spoken)
        at = spoken.last + 1 if spoken else at + 1
    return tuple(found)


def perhaps_command(words: Sequence[Word], lexicon: Lexicon) -> bool:
    """Whether words that hold no command may be one badly heard: behind a pause something sounds like the address."""
    ready = commands_of(lexicon)
    if not ready.exact or spoken_commands(words, lexicon):
        return False
    plain = [_plain(word, lexicon) for word in words]
    return any(
        _pause(words, at)
        and ready.begins([part for each in plain[at : at + OPENING] for part in each], likeness=PERHAPS)
        for at in range(len(words) - 1)
    )


def find_commands(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Set apart the words of commands: they make no tokens, and a thought ends at them."""
    commands = tuple(
        Command(
            id=f"k{number}",
            key=spoken.command,
            first_word=spoken.first,
            last_word=spoken.last,
            because=tuple(f"w{word}" for word in range(spoken.first, spoken.last + 1)),
            why="the address and what it is told, between pauses",
        )
        for number, spoken in enumerate(spoken_commands(draft.words, vocabulary.lexicon))
    )
    return replace(draft, commands=commands) if commands else draft


def next_vehicle_starts(draft: Draft) -> list[int]:
    """The first words behind commands for the next vehicle, where something was said before and is said after."""
    if not draft.commands or not draft.tokens:
        return []
    first, last = draft.tokens[0].first_word, draft.tokens[-1].first_word
    starts = (command.last_word + 1 for command in draft.commands if command.key == "next_vehicle")
    return [start for start in starts if first < start <= last]


def _may_begin(plain: Sequence[Sequence[str]], at: int, ready: Commands) -> bool:
    return ready.begins([part for words in plain[at : at + OPENING] for part in words])


def _command_at(words: Sequence[Word], plain: Sequence[Sequence[str]], at: int, ready: Commands) -> Spoken | None:
    """The command whose address begins at a word, with the idle words around it: the likest, of such the longest."""
    first = at
    while first > 0 and len(plain[first - 1]) == 1 and plain[first - 1][0] in ready.idle and not _pause(words, first):
        first -= 1
    if not _pause(words, first):
        return None
    best, likest = None, 0.0
    for last in range(min(len(words), at + ready.longest + OPENING) - 1, at, -1):
        if not _pause(words, last + 1):
            continue
        command, likeness = ready.understood([part for each in plain[at : last + 1] for part in each])
        if command and likeness > likest:
            best, likest = Spoken(command, first, last), likeness
    return best


def _pause(words: Sequence[Word], at: int) -> bool:
    """Whether there is silence before a word, or a full stop where no times are known; true at both ends."""
    if not 0 < at < len(words):
        return True
    before, after = words[at - 1], words[at]
    if before.end_s is None or after.start_s is None:
        return before.text.strip()[-1:] in STOPS
    return after.start_s - before.end_s + _silence_in(before) + _silence_in(after) >= PAUSE_S


def _silence_in(word: Word) -> float:
    """How much longer a word takes than its letters need, seconds."""
    if word.start_s is None or word.end_s is None:
        return 0.0
    return max(0.0, word.end_s - word.start_s - WORD_S - LETTER_S * len(word.text.strip(ENDS + " ")))


def _plain(word: Word, lexicon: Lexicon) -> tuple[str, ...]:
    """A word as the lexicon's phrases are written, without the punctuation around it."""
    return phrase_words(word.text.translate(_ALIKE).strip().strip(ENDS), lexicon.spelling)
