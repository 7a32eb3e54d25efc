"""Parts guessed by sound or spelling: false in talk about anything else, right in what was misheard."""

import json
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from narrate.find.draft import Draft
from narrate.find.mining import text_recording
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word
from narrate.score.counts import Share

GUESSING = READING[: [name for name, _ in READING].index("guesses") + 1]


@dataclass(frozen=True)
class Repairs:
    """What became of mis-heard parts."""

    right: Share
    """The part that was said is read there."""
    wrong: Share
    """Another part is read there instead."""


def guesses_in(texts: Iterable[str], vocabulary: Vocabulary) -> list[str]:
    """Why each part was guessed in texts."""
    drafts = (run_stages(text_recording(text).words, vocabulary, GUESSING) for text in texts)
    return [m.why for draft in drafts for m in draft.mentions if m.how == "guess"]


def score_repairs(file: Path, vocabulary: Vocabulary, *, models: Sequence[str] = ("base", "tiny.en")) -> Repairs:
    """Read each hearing of a table (models/collect_misheard.py) and look where its mis-heard parts stand."""
    right = wrong = total = 0
    for hearing in json.loads(file.read_text("utf-8")):
        if hearing["model"] not in models:
            continue
        words = [Word(text=text, probability=probability) for text, probability in hearing["words"]]
        draft = run_stages(words, vocabulary, READING)
        for part in hearing["parts"]:
            named = _named_at(draft, part["first"], part["last"])
            right += part["component"] in named
            wrong += bool(named) and part["component"] not in named
            total += 1
    return Repairs(Share(right, total), Share(wrong, total))


def _named_at(draft: Draft, first: int, last: int) -> set[str]:
    return {
        mention.key
        for mention in draft.mentions
        if mention.family == "component"
        if draft.tokens[mention.first].first_word <= last and first <= draft.tokens[mention.last].last_word
    }
