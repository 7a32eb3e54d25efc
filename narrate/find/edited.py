"""Words as a person says they were, laid over those heard, and which of them stand for which."""

from collections.abc import Iterable, Sequence

from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Edit
from narrate.records.walkaround import Evidence

Heard = tuple[int, int]
"""First and last number, inclusive, of the words heard that an edited word stands for."""


def edited_recording(recording: Recording, edits: Iterable[Edit]) -> tuple[Recording, tuple[Heard, ...]]:
    """The recording with its edits laid over, and for each of its words now the words heard under it.

    A stretch put in place of as many words stands for them one by one, else each of its words for the whole. Words a
    person wrote are sure (probability 1) and share the time of the stretch; where there is no sound they have neither.
    Edits of other recordings are passed over; those of one recording must not overlap.
    """
    words: list[Word] = []
    heard: list[Heard] = []
    at = 0
    for edit in sorted((e for e in edits if e.recording == recording.id), key=lambda e: e.first_word):
        words += recording.words[at : edit.first_word]
        heard += [(n, n) for n in range(at, edit.first_word)]
        under = recording.words[edit.first_word : edit.last_word + 1]
        written = edit.text.split()
        words += _timed(written, under)
        if len(written) == len(under):
            heard += [(n, n) for n in range(edit.first_word, edit.last_word + 1)]
        else:
            heard += [(edit.first_word, edit.last_word)] * len(written)
        at = edit.last_word + 1
    words += recording.words[at:]
    heard += [(n, n) for n in range(at, len(recording.words))]
    return recording.model_copy(update={"words": tuple(words)}), tuple(heard)


def as_heard(piece: Evidence, heard: Sequence[Heard], recording: Recording) -> Evidence:
    """A piece of evidence in edited words, as the words heard under them; `recording`: as heard."""
    under = heard[piece.first_word : piece.last_word + 1]
    first, last = min(each[0] for each in under), max(each[1] for each in under)
    words = recording.words[first : last + 1]
    return piece.model_copy(
        update={
            "first_word": first,
            "last_word": last,
            "start_s": words[0].start_s,
            "end_s": words[-1].end_s,
            "said": " ".join(word.text for word in words),
        }
    )


def _timed(written: Sequence[str], under: Sequence[Word]) -> list[Word]:
    """Words written in place of others, their time shared evenly, or word by word where they are as many."""
    start_s, end_s = under[0].start_s, under[-1].end_s
    if start_s is None or end_s is None:
        return [Word(text=text) for text in written]
    if len(written) == len(under):
        return [
            old.model_copy(update={"text": text, "probability": 1.0}) for text, old in zip(written, under, strict=True)
        ]
    each_s = (end_s - start_s) / len(written) if written else 0.0
    return [
        Word(text=text, start_s=start_s + n * each_s, end_s=start_s + (n + 1) * each_s, probability=1.0)
        for n, text in enumerate(written)
    ]
