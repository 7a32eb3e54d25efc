"""What a review teaches: words that were heard for a part narrate took for something else, or for a guess.

They are offered, never taken by themselves. Nothing is offered that means something already, that is an everyday
word alone, or that the shop has hidden.
"""

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from narrate.records.event import Event
from narrate.records.walkaround import Finding, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.meanings import Kind, Meanings, OwnWord, tidy
from narrate.words.overlay import OwnWords
from narrate.words.phrases import phrase_words
from narrate.words.sounds import alike, load_speller

LONGEST = 5
"""Words that a name has at most."""
SOUNDS_LIKE = 0.8
"""How alike to one of the part's names (0 to 1) words sound that are the name heard wrongly, and no other name."""
DECIDED = ("confirmed", "corrected", "added")
_NAMED = re.compile(r"'([^']+)' was named")
"""How find/leftovers.py tells of a part that it could not make out."""
_WORD = re.compile(r"[^\W_]+(?:['’&/-][^\W_]+)*")


@dataclass(frozen=True, kw_only=True)
class Offer:
    """Words that could from now on mean a component."""

    words: str
    means: str
    """The component's id."""
    name: str
    kind: Kind
    """`heard`: it is the part's name, heard wrongly; `alias`: what people here call it."""
    needs_context: bool
    """Everyday words count only beside other car talk."""
    finding: str
    said: str
    """The evidence they were heard in."""


def offers(
    walkaround: Walkaround, history: Iterable[Event], *, lexicon: Lexicon, own_words: OwnWords
) -> tuple[Offer, ...]:
    """What the reviewed findings teach, in their order. `lexicon`: narrate's own, without the shop's words."""
    first_taken = _first_components(history)
    meanings = Meanings(lexicon)
    meanings.take_all(own_words)
    hidden = {(own.words, own.means) for own in own_words if own.kind == "hide"}
    told: list[Offer] = []
    for finding in walkaround.findings:
        component = finding.component.id
        if finding.review.state not in DECIDED or component not in lexicon.components:
            continue
        taught = finding.review.state == "added" or component != first_taken.get(finding.id, component)
        if not taught and not any(doubt.field == "component" for doubt in finding.doubts):
            continue
        for words in _candidates(walkaround, finding, lexicon):
            offer = _offer(words, finding, lexicon)
            if (offer.words, offer.means) not in hidden and meanings.take(own_word(offer)) is None:
                told.append(offer)
                break
    return tuple(told)


def own_word(offer: Offer, note: str = "") -> OwnWord:
    """The line of the shop's own words that an offer would become."""
    return OwnWord(words=offer.words, means=offer.means, kind=offer.kind, needs_context=offer.needs_context, note=note)


def _first_components(history: Iterable[Event]) -> dict[str, str]:
    """The component each finding was first taken for."""
    first: dict[str, str] = {}
    for event in history:
        for change in event.changes:
            if change.kind == "findings" and change.id and isinstance(change.after, dict):
                component: dict[str, Any] = change.after.get("component") or {}
                first.setdefault(change.id, str(component.get("id", "")))
    return first


def _offer(words: str, finding: Finding, lexicon: Lexicon) -> Offer:
    parts = phrase_words(words, lexicon.spelling)
    component = finding.component
    return Offer(
        words=words,
        means=component.id,
        name=component.name,
        kind="heard" if _sounds_like(words, component.id, lexicon) else "alias",
        needs_context=len(parts) > 1 and all(part in lexicon.everyday for part in parts),
        finding=finding.id,
        said=" … ".join(piece.said for piece in finding.evidence),
    )


def _candidates(walkaround: Walkaround, finding: Finding, lexicon: Lexicon) -> Iterator[str]:
    """Words that may have named the part, the likeliest first."""
    heard = _spoken(finding.component.heard)
    texts = [_spoken(piece.said) for piece in finding.evidence]
    named = [
        _spoken(name)
        for stretch in walkaround.unplaced
        for name in _NAMED.findall(stretch.why)
        if any(_at(_spoken(name), text) is not None for text in texts)
    ]
    known = _known(lexicon)
    strange = [run for text in texts for run in _strange(text, heard, known, lexicon)]
    for words in (*named, heard, *strange):
        if 0 < len(words) <= LONGEST:
            yield tidy(" ".join(words))


def _spoken(text: str) -> tuple[str, ...]:
    return tuple(_WORD.findall(text.lower()))


def _at(part: Sequence[str], text: Sequence[str]) -> int | None:
    length = len(part)
    starts = range(len(text) - length + 1) if length else ()
    return next((start for start in starts if tuple(text[start : start + length]) == tuple(part)), None)


def _known(lexicon: Lexicon) -> frozenset[str]:
    """Every single word that stands in some phrase of the lexicon."""
    return frozenset(word for phrase in lexicon.phrases() for word in phrase.words)


def _strange(
    text: Sequence[str], heard: Sequence[str], known: frozenset[str], lexicon: Lexicon
) -> Iterator[tuple[str, ...]]:
    """Runs of words that are neither English nor the lexicon's, with what was heard beside them."""
    at = _at(heard, text)
    beside = range(at, at + len(heard)) if at is not None else range(0)
    run: list[int] = []
    for number in range(len(text) + 1):
        if number < len(text) and (_is_strange(text[number], known, lexicon) or (run and number in beside)):
            run.append(number)
        elif run:
            before = [n for n in beside if n == run[0] - 1] and list(beside)
            yield tuple(text[n] for n in (*before, *run))
            run = []


def _is_strange(word: str, known: frozenset[str], lexicon: Lexicon) -> bool:
    parts = phrase_words(word, lexicon.spelling)
    digits = any(letter.isdigit() for letter in word)
    return not digits and any(part not in known and part not in lexicon.everyday for part in parts)


def _sounds_like(words: str, component: str, lexicon: Lexicon) -> bool:
    """Whether words sound like one of the part's names, so that they are it, heard wrongly."""
    speller = load_speller()

    def sounds(text: str) -> str:
        return "".join(map(speller.sounds, phrase_words(text, lexicon.spelling)))

    return any(alike(sounds(words), sounds(name)) >= SOUNDS_LIKE for name in lexicon.components[component].names)
