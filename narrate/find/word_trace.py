"""A whole recording explained word by word: what each stage recorded about a word, and where the word ends up."""

from collections.abc import Iterator
from dataclasses import dataclass

from narrate.find.draft import Amount, Command, Draft, Item, Link, Mention, Scope, Token, Void
from narrate.find.edited import edited_recording
from narrate.find.evidence import said, words_under
from narrate.find.mining import cuts
from narrate.find.stages import READING, run_stages
from narrate.find.trace import Trace, record_stages, replay
from narrate.find.vocabulary import vocabulary
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Walkaround
from narrate.words.lexicon import Lexicon

ENDS = ".,;:!?"
PLAIN = frozenset({"name", "alias", "plural"})
"""How a phrase of the lexicon is met when its words are said as they stand there."""


@dataclass(frozen=True, slots=True)
class WordTrace:
    """One word of a recording."""

    number: int
    word: Word
    recorded: tuple[tuple[str, str], ...]
    """(stage, what it made of the word or of a stretch the word lies in), in the order it happened."""
    stands_in: tuple[str, ...]
    """Ids of the concerns, findings and unplaced stretches of the walkaround whose evidence holds the word."""


def explain_words(walkaround: Walkaround, recording: Recording, lexicon: Lexicon) -> Iterator[WordTrace]:
    """Every word of a recording: the stages run again, and what they record while they run is what is told."""
    ready = vocabulary(lexicon)
    recorded: list[list[tuple[str, str]]] = [[] for _ in recording.words]
    spoken, heard = edited_recording(recording, walkaround.edits)
    for first, end, stages in cuts(run_stages(spoken.words, ready, READING), ready):
        _, trace = record_stages(spoken.words[first:end], ready, stages)
        for number, note in _notes(trace):
            under, last = heard[first + number]
            for place in range(under, last + 1):
                recorded[place].append(note)
    stands = _stands_in(walkaround, recording)
    for number, word in enumerate(recording.words):
        yield WordTrace(number, word, tuple(dict.fromkeys(recorded[number])), tuple(stands[number]))


def _notes(trace: Trace) -> Iterator[tuple[int, tuple[str, str]]]:
    """(word, (stage, what)) of everything the steps added that is about words."""
    draft = replay(trace)
    made: dict[str, Item] = {item.id: item for step in trace.steps for _, item in step.added}
    for step in trace.steps:
        for _, item in step.added:
            told = _told(item, made, draft)
            if told:
                about, what = told
                for number in _words_of(about, draft):
                    yield number, (step.stage, what)


def _told(item: Item, made: dict[str, Item], draft: Draft) -> tuple[Item, str] | None:
    """The item whose words a record is about, and what it says of them; None for what a reader need not see."""
    if isinstance(item, Command):
        return item, f"command {item.key}"
    if isinstance(item, Token):
        plain = said(draft, item.first_word, item.last_word)
        return (item, f"read as “{item.text}”") if plain.lower().strip(ENDS) != item.text else None
    if isinstance(item, Mention):
        return item, f"{item.family} {item.key}" + ("" if item.how in PLAIN else f" ({item.how}, {item.score:.2f})")
    if isinstance(item, Amount):
        value = item.text or " ".join(
            filter(None, (f"{item.value}", f"to {item.high}" if item.high else "", item.unit))
        )
        return item, f"{item.kind} {value}"
    if isinstance(item, Scope):
        return item, item.kind
    if isinstance(item, Void):
        return made[item.item], "taken back"
    if isinstance(item, Link):
        head = _words_of(made[item.head], draft)
        plain = said(draft, head.start, head.stop - 1).strip(ENDS)
        return made[item.dependent], f"said of “{plain}” ({item.probability:.2f})"
    return None


def _words_of(item: Item, draft: Draft) -> range:
    if isinstance(item, Token | Command):
        return range(item.first_word, item.last_word + 1)
    assert isinstance(item, Mention | Amount | Scope)
    return words_under(draft, item.first, item.last)


def _stands_in(walkaround: Walkaround, recording: Recording) -> list[list[str]]:
    """For each word the ids of what the walkaround quotes it for."""
    stands: list[list[str]] = [[] for _ in recording.words]
    told = [
        *((concern.id, concern.evidence) for concern in walkaround.concerns),
        *((finding.id, finding.evidence) for finding in walkaround.findings),
        *((unplaced.id, unplaced.evidence) for unplaced in walkaround.unplaced),
    ]
    for id_, evidence in told:
        for piece in evidence:
            if piece.recording == recording.id:
                for number in range(piece.first_word, piece.last_word + 1):
                    stands[number].append(id_)
    return stands
