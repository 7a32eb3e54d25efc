"""A second hearing of the weak stretches of a recording, with hints that fit what was talked about.

The words of the first hearing are the record unless the second is surer of its own and loses nothing.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.guard import fault, plain
from narrate.hear.hints import SEPARATOR, fitting_hints
from narrate.hear.recogniser import LONGEST_WINDOW_S, MARGIN_S, Heard, Recogniser, Stretch
from narrate.hear.whisper_engine import load_engine
from narrate.records.recording import HeardAgain, Recording, Word
from narrate.settings import Settings

WEAK = "doubtful words"
"""Why a stretch is heard a second time."""
PUT_BACK = "words that went missing with hints"
"""Why a stretch of the first hearing stands though the second was kept around it."""
WEAK_PROBABILITY = 0.5
"""A word below it makes its phrase weak: of part names that sure or less, half are wrong (hearing measurements)."""
PAUSE_S = 0.3
"""Phrases are cut where nothing is said for so long."""
SURER = 0.02
"""By how much the mean probability of the second hearing must be higher."""
MOST_LOST = 8
"""So many words in a row that one hearing has and the other lacks were said, whatever the other is sure of."""


@dataclass(frozen=True, kw_only=True)
class Phrase:
    """Words first to last (numbers, inclusive) said in one go, and where nothing else is said."""

    first: int
    last: int
    start_s: float
    end_s: float


def hear_weak(
    path: Path, recording: Recording, *, settings: Settings, hints: Sequence[str], model: str | None = None
) -> Recording:
    """Return the recording with its weak stretches heard again, listening for `hints`, the most important first.

    The same file and settings as of the first hearing. Raises AudioError and ModelError as that did.
    """
    phrases = weak_phrases(recording.words)
    if not phrases or not hints or not recording.minable:
        return recording
    samples = decode(path, min_duration_s=settings.min_duration_s, max_duration_s=settings.max_duration_s).samples
    return listen_closer(samples, recording, load_engine(settings, model=model), phrases=phrases, hints=hints)


def listen_closer(
    samples: Samples, recording: Recording, recogniser: Recogniser, *, phrases: Sequence[Phrase], hints: Sequence[str]
) -> Recording:
    """Hear phrases again by any engine, and keep of each the better hearing."""
    given = fitting_hints(hints, recogniser.count_tokens)
    windows = _apart([(phrase.start_s, phrase.end_s) for phrase in phrases], samples.size / RATE)
    heard = recogniser.listen(samples, windows, language=recording.language or "en", hints=SEPARATOR.join(given))
    words: list[Word] = []
    notes: list[HeardAgain] = []
    at = 0
    for phrase, second in zip(phrases, heard, strict=True):
        first = recording.words[phrase.first : phrase.last + 1]
        kept, why = choose(first, second, given)
        words += [*recording.words[at : phrase.first], *kept]
        at = phrase.last + 1
        notes += [
            HeardAgain(start_s=round(phrase.start_s, 2), end_s=round(phrase.end_s, 2), why=reason, kept=which)
            for reason, which in why
        ]
    words += recording.words[at:]
    return recording.model_copy(
        update={
            "words": tuple(words),
            "heard_again": (*recording.heard_again, *notes),
            "settings": {**recording.settings, "hints of the second hearing": SEPARATOR.join(given)},
        }
    )


def _apart(windows: Sequence[Stretch], total_s: float) -> list[Stretch]:
    """The windows within the recording, none over another: times of words are told a little wrong."""
    apart: list[Stretch] = []
    for start_s, end_s in windows:
        start_s = max(start_s, apart[-1][1] if apart else 0.0)
        apart.append((min(start_s, total_s), max(min(end_s, total_s), min(start_s, total_s))))
    return apart


def weak_phrases(words: Sequence[Word]) -> tuple[Phrase, ...]:
    """Phrases with a doubtful word, neighbours together as far as one window holds; none without times."""
    if not words or any(word.start_s is None or word.end_s is None for word in words):
        return ()
    weak = [(first, last) for first, last in _phrases(words) if _is_weak(words[first : last + 1])]
    joined: list[tuple[int, int]] = []
    for first, last in weak:
        if joined and joined[-1][1] + 1 == first and _length_s(words, joined[-1][0], last) <= LONGEST_WINDOW_S:
            joined[-1] = (joined[-1][0], last)
        else:
            joined.append((first, last))
    return tuple(_with_room(words, first, last) for first, last in joined)


def choose(
    first: Sequence[Word], second: Heard, hints: Sequence[str] = ()
) -> tuple[tuple[Word, ...], list[tuple[str, str]]]:
    """The words to keep of two hearings of one phrase, and a note (why, which hearing) for each choice.

    Eight or more words in a row that the second lacks are put back.
    """
    if fault(second, hints) or not second.words or _mean(second.words) < _mean(first) + SURER:
        return tuple(first), [(WEAK, "first")]
    if [plain(word.text) for word in first] == [plain(word.text) for word in second.words]:
        return tuple(second.words), []
    kept: list[Word] = []
    notes = [(WEAK, "second")]
    texts = [plain(word.text) for word in first], [plain(word.text) for word in second.words]
    for tag, a, b, c, d in SequenceMatcher(None, *texts, autojunk=False).get_opcodes():
        if tag != "equal" and (b - a) - (d - c) >= MOST_LOST:
            kept += first[a:b]
            notes.append((PUT_BACK, "first"))
        else:
            kept += second.words[c:d]
    return tuple(kept), notes


def _phrases(words: Sequence[Word]) -> list[tuple[int, int]]:
    """Words first to last between pauses, none longer than a window."""
    found: list[tuple[int, int]] = []
    start = 0
    for number in range(1, len(words) + 1):
        ends = number == len(words) or _pause_s(words, number) >= PAUSE_S
        if ends or _length_s(words, start, number) > LONGEST_WINDOW_S:
            found.append((start, number - 1))
            start = number
    return found


def _is_weak(words: Sequence[Word]) -> bool:
    return any(word.probability is not None and word.probability < WEAK_PROBABILITY for word in words)


def _with_room(words: Sequence[Word], first: int, last: int) -> Phrase:
    """A phrase with a margin on both sides that holds no sound of its neighbours."""
    start_s, end_s = words[first].start_s or 0.0, words[last].end_s or 0.0
    before = (words[first - 1].end_s or 0.0) if first else 0.0
    after = (words[last + 1].start_s or end_s) if last + 1 < len(words) else end_s + MARGIN_S
    return Phrase(
        first=first,
        last=last,
        start_s=max(start_s - MARGIN_S, min(before, start_s), 0.0),
        end_s=min(end_s + MARGIN_S, max(after, end_s)),
    )


def _pause_s(words: Sequence[Word], number: int) -> float:
    return (words[number].start_s or 0.0) - (words[number - 1].end_s or 0.0)


def _length_s(words: Sequence[Word], first: int, last: int) -> float:
    last = min(last, len(words) - 1)
    return (words[last].end_s or 0.0) - (words[first].start_s or 0.0) + 2 * MARGIN_S


def _mean(words: Sequence[Word]) -> float:
    known = [word.probability for word in words if word.probability is not None]
    return sum(known) / len(known) if known else 0.0
