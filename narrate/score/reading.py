"""How well a voice and a microphone are heard: a list of sentences read aloud, compared with what was heard."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from difflib import SequenceMatcher
from itertools import pairwise

from narrate.find.draft import Draft
from narrate.find.mining import text_recording
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import vocabulary
from narrate.records.recording import Recording
from narrate.score.counts import Share
from narrate.score.word_errors import count_word_errors
from narrate.settings import project_folder
from narrate.words.lexicon import Lexicon

KINDS = ("parts", "places", "numbers")
FAMILIES = {"component": "parts", "location": "places"}
Item = tuple[str, str]
"""Kind, and which part, place or number."""


@dataclass(frozen=True)
class Lost:
    """A sentence of which something that counts was not heard."""

    number: int
    said: str
    heard: str


@dataclass(frozen=True)
class ReadAloud:
    """What was heard of the sentences."""

    errors: Share
    """Words substituted, left out or put in, of the words read."""
    heard: dict[str, Share]
    """Of the parts, places and numbers read, those heard as such."""
    lost: tuple[Lost, ...]


def reading_list() -> tuple[str, ...]:
    """The sentences to read aloud, in order."""
    lines = (project_folder("lexicon") / "reading_list.txt").read_text("utf-8").splitlines()
    return tuple(line for line in lines if line and not line.startswith("#"))


def compare_reading(sentences: Sequence[str], recording: Recording, lexicon: Lexicon) -> ReadAloud:
    """Compare sentences with the words of a recording in which they were read in this order.

    What counts is found in both by the same stages, so `4/32` heard for "four thirty-seconds" is right.
    """
    words = vocabulary(lexicon)
    said = run_stages(text_recording(" ".join(sentences)).words, words, READING)
    heard = run_stages(recording.words, words, READING)
    starts = _starts(sentences, said)
    heard_starts = [_moved(said, heard)[start] for start in starts]
    totals = {kind: Share() for kind in KINDS}
    lost = []
    spans = zip(pairwise([*starts, len(said.tokens)]), pairwise([*heard_starts, len(heard.tokens)]), strict=True)
    for number, ((first, end), (heard_first, heard_end)) in enumerate(spans, 1):
        owed, given = _items(said, first, end), _items(heard, heard_first, heard_end)
        missing = owed - given
        for kind in KINDS:
            count = sum(n for item, n in owed.items() if item[0] == kind)
            totals[kind] += Share(count - sum(n for item, n in missing.items() if item[0] == kind), count)
        if missing:
            text = " ".join(heard.words[n].text for n in _words(heard, heard_first, heard_end))
            lost.append(Lost(number, sentences[number - 1], text))
    whole = " ".join(word.text for word in recording.words)
    return ReadAloud(count_word_errors(" ".join(sentences), whole), totals, tuple(lost))


def _starts(sentences: Sequence[str], said: Draft) -> list[int]:
    """The token each sentence begins with."""
    first_words = [sum(len(sentence.split()) for sentence in sentences[:n]) for n in range(len(sentences))]
    return [next(n for n, token in enumerate(said.tokens) if token.first_word >= word) for word in first_words]


def _moved(said: Draft, heard: Draft) -> list[int]:
    """For each token that was read, the token that was heard for it or behind it."""
    texts = [token.text for token in said.tokens], [token.text for token in heard.tokens]
    where: list[int] = []
    for _, first, end, other, other_end in SequenceMatcher(None, *texts, autojunk=False).get_opcodes():
        # Words heard for others stand for them in turn.
        where += [other + step * (other_end - other) // (end - first) for step in range(end - first)]
    return [*where, len(texts[1])]


def _items(draft: Draft, first: int, end: int) -> Counter[Item]:
    """The parts, places and numbers in tokens from `first` to before `end`, each as often as it comes."""
    items: Counter[Item] = Counter()
    for mention in draft.mentions:
        if mention.family in FAMILIES and first <= mention.first < end:
            items[FAMILIES[mention.family], mention.key] += 1
    for amount in draft.amounts:
        if amount.kind != "quiet" and first <= amount.first < end:
            items["numbers", f"{amount.value.normalize():f} {amount.unit or ''}"] += 1
    return items


def _words(draft: Draft, first: int, end: int) -> range:
    if first >= end:
        return range(0)
    return range(draft.tokens[first].first_word, draft.tokens[end - 1].last_word + 1)


def reading_text(read: ReadAloud, recording: Recording) -> str:
    """The comparison as lines to print."""
    wrong = f"{read.errors.part} of {read.errors.of} words came out otherwise"
    lines = [f"{wrong}; what counts was heard so:"]
    lines += [f"  {kind:8} {share.part} of {share.of}" for kind, share in read.heard.items()]
    loudness = recording.signal.speech_to_noise_db
    if loudness is not None:
        lines.append(f"  the voice is {loudness:.0f} dB over the noise")
    if read.lost:
        lines += ["", "Lost or changed:"]
        lines += [f"  {lost.number:2}  read   {lost.said}\n      heard  {lost.heard}" for lost in read.lost]
    return "\n".join(lines)
