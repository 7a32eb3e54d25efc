"""The words of a draft laid out for the readers of the heading, which look up wordings and not mentions."""

from collections.abc import Mapping
from dataclasses import dataclass

from narrate.find.draft import Draft
from narrate.find.numbers import Number, may_begin, read_number
from narrate.find.vocabulary import Vocabulary

REPAIRS = ("strong_repair", "no_repair")
LONGEST_NUMBER = 20
"""No number is said in more words: "nine hundred and ninety nine thousand nine hundred and ninety nine"."""
FILLERS = 4
"""How many words may stand between what a number is of and the number: "plate number on this is"."""


@dataclass(frozen=True, slots=True)
class Talk:
    """The words of one draft with what the readers of the heading look up in them."""

    draft: Draft
    vocabulary: Vocabulary
    words: tuple[str, ...]
    raw: tuple[str, ...]
    """The word as heard that each token comes from."""
    phrases: Mapping[str, frozenset[tuple[str, ...]]]
    capitals: bool
    """Whether capital letters were written at all: then a name has one."""
    all_capitals: bool
    in_parts: frozenset[int]
    """Tokens that name a part."""
    part_starts: frozenset[int]
    """Tokens at which the name of a part or place begins."""
    repairs: Mapping[int, int]
    """Where words begin that take something back -> the token after them."""
    ends: tuple[int, ...]
    """The next token before which a thought ends or a comma stands, for each token."""

    def word(self, at: int) -> str:
        """The token's text, or nothing past the end."""
        return self.words[at] if 0 <= at < len(self.words) else ""

    def ends_at(self, at: int) -> bool:
        """Whether a thought ends, or a comma stands, before a token."""
        return at <= 0 or at >= len(self.words) or bool(self.draft.tokens[at - 1].punctuation)

    def stops_at(self, at: int) -> bool:
        """Whether a sentence ends before a token."""
        return at <= 0 or at >= len(self.words) or any(m in ".!?;…" for m in self.draft.tokens[at - 1].punctuation)

    def phrase(self, cue: str, at: int) -> int | None:
        """The token after the longest wording of a cue that begins at a token, if one does."""
        known = self.phrases.get(cue, frozenset())
        for length in range(min(4, len(self.words) - at), 0, -1):
            if self.words[at : at + length] in known:
                return at + length
        return None

    def phrase_before(self, cue: str, at: int) -> int | None:
        """Where a wording of a cue that ends right before a token begins."""
        known = self.phrases.get(cue, frozenset())
        lengths = (length for length in range(4, 0, -1) if at >= length and self.words[at - length : at] in known)
        length = next(lengths, None)
        return None if length is None else at - length

    def number(self, at: int) -> Number | None:
        """The number that begins at a token and goes on over no comma."""
        if at >= len(self.words) or not may_begin(self.words[at]):
            return None
        return read_number(self.words[: min(self.ends[at], at + LONGEST_NUMBER)], at)

    def unit(self, at: int) -> tuple[str, int] | None:
        """(symbol, token after) of a unit of measurement at a token."""
        for length in range(3, 0, -1):
            unit = self.vocabulary.units.get(self.words[at : at + length])
            if unit and at + length <= len(self.words):
                return self.vocabulary.lexicon.units[unit].symbol, at + length
        return None


def talk_of(draft: Draft, vocabulary: Vocabulary) -> Talk:
    """Lay out a draft for these readers."""
    raw = tuple(draft.words[token.first_word].text for token in draft.tokens)
    parts = [m for m in draft.mentions if m.family == "component"]
    named = [m for m in draft.mentions if m.family in ("component", "location")]
    return Talk(
        draft=draft,
        vocabulary=vocabulary,
        words=tuple(token.text for token in draft.tokens),
        raw=raw,
        phrases=vocabulary.cue_phrases,
        capitals=any(word[:1].isupper() and len(word) > 1 for word in raw),
        all_capitals=not any(word.islower() for word in raw),
        in_parts=frozenset(number for m in parts for number in range(m.first, m.last + 1)),
        part_starts=frozenset(m.first for m in named),
        repairs={m.first: m.last + 1 for m in draft.mentions if m.family == "cue" and m.key in REPAIRS},
        ends=_ends(draft),
    )


def _ends(draft: Draft) -> tuple[int, ...]:
    ends = [len(draft.tokens)] * len(draft.tokens)
    for number in range(len(ends) - 2, -1, -1):
        ends[number] = number + 1 if draft.tokens[number].punctuation else ends[number + 1]
    return tuple(ends)


@dataclass(frozen=True, slots=True)
class Reading:
    """Values that one reader found in the tokens from `first` to before `end`."""

    values: tuple[tuple[str, str], ...]
    first: int
    end: int
    unit: str | None = None


def fill(talk: Talk, at: int) -> int:
    """The token after the fillers between what a number is of and the number."""
    for _ in range(FILLERS):
        end = talk.phrase("heading_number", at)
        if end is None or (talk.stops_at(at) and talk.word(at - 1) not in ("no", "number", "vin")):
            break
        at = end
    return at
