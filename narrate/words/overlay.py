"""The shop's own words laid over the lexicon, and how the list of them changes."""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple, TypeVar

from narrate.errors import NarrateError
from narrate.words.entries import ActionEntry, ComponentEntry, ConditionEntry
from narrate.words.lexicon import Family, Lexicon
from narrate.words.meanings import Meanings, OwnWord, Refusal, family_of, forms_of
from narrate.words.phrases import phrase_words

OwnWords = tuple[OwnWord, ...]
Entry = TypeVar("Entry", ComponentEntry, ConditionEntry, ActionEntry)


class Laid(NamedTuple):
    """A lexicon with the shop's own words, and why one of them does not count."""

    lexicon: Lexicon
    refusals: tuple[Refusal | None, ...]


@lru_cache(maxsize=4)
def lay_over(lexicon: Lexicon, own_words: OwnWords) -> Laid:
    """Lay own words over a lexicon; those that do not fit it are left out and told of, in the order given.

    The same lexicon and words give the same object, for what is made ready from it is kept by it.
    """
    refusals = Meanings(lexicon).take_all(own_words)
    counting = [own for own, refusal in zip(own_words, refusals, strict=True) if refusal is None]
    if not counting:
        return Laid(lexicon, refusals)
    components, conditions, actions = dict(lexicon.components), dict(lexicon.conditions), dict(lexicon.actions)
    hidden: set[tuple[Family, str, tuple[str, ...]]] = set()
    for own in counting:
        family = family_of(lexicon, own.means)
        if family and own.kind == "hide":
            hidden |= {(family, own.means, form) for form in forms_of(lexicon, own)}
        elif family == "component":
            components[own.means] = _with_word(components[own.means], own)
        elif family == "condition":
            conditions[own.means] = _with_word(conditions[own.means], own)
        elif family == "action":
            actions[own.means] = _with_word(actions[own.means], own)
    laid = replace(
        lexicon,
        digest=_digest(lexicon, counting),
        components=components,
        conditions=conditions,
        actions=actions,
        # What was hidden must not come back as a guess at its spelling.
        everyday=lexicon.everyday | {word for _, _, form in hidden for word in form},
        own_words=tuple((own.means, own.words) for own in counting if own.means in components and own.kind != "hide"),
        hidden=lexicon.hidden | hidden,
    )
    return Laid(laid, refusals)


def add(lexicon: Lexicon, own_words: OwnWords, own: OwnWord) -> OwnWords:
    """Return the own words with one more, or without the line that hid just these words.

    Raises NarrateError saying why the words cannot mean that.
    """
    rest = tuple(other for other in own_words if other.kind != "hide" or not _same(lexicon, other, own))
    if len(rest) < len(own_words):
        _check_unhidden(lexicon, own_words, rest)
        if Meanings(lexicon).means(own):
            return rest
    elif any(_same(lexicon, other, own) for other in own_words):
        message = f"'{own.words}' is among the shop's own words for {own.means} already; hide it first to change it."
        raise NarrateError(message)
    meanings = Meanings(lexicon)
    meanings.take_all(rest)
    refusal = meanings.take(own)
    if refusal:
        raise NarrateError(refusal.why)
    return (*rest, own)


def hide(lexicon: Lexicon, own_words: OwnWords, own: OwnWord) -> OwnWords:
    """Return the own words without the one that gave these words this meaning, or with a line that hides them.

    Raises NarrateError if the words do not mean that.
    """
    rest = tuple(other for other in own_words if other.kind == "hide" or not _same(lexicon, other, own))
    if len(rest) < len(own_words):
        return rest
    form = phrase_words(own.words, lexicon.spelling)
    for other in own_words:
        if _same(lexicon, other, own):
            message = f"'{own.words}' is hidden from {own.means} already; there is nothing to hide."
            raise NarrateError(message)
        if other.kind != "hide" and other.means == own.means and form in forms_of(lexicon, other):
            message = f"'{own.words}' is the plural of the shop's own '{other.words}'; hide that."
            raise NarrateError(message)
    meanings = Meanings(lexicon)
    meanings.take_all([other for other in own_words if other.kind == "hide"])
    refusal = meanings.take(own)
    if refusal:
        raise NarrateError(refusal.why)
    return (*own_words, own)


def still_inside(lexicon: Lexicon, own: OwnWord) -> str | None:
    """The longest part of these words that means the same by itself, if any does: "disc" of "brake disc"."""
    words = phrase_words(own.words, lexicon.spelling)
    inside = {words[first:last] for last in range(1, len(words) + 1) for first in range(last)} - {words}
    meant = {phrase.words for phrase in lexicon.phrases() if phrase.id == own.means and phrase.words in inside}
    longest = max(meant, key=len, default=())
    return " ".join(longest) or None


def _check_unhidden(lexicon: Lexicon, before: OwnWords, after: OwnWords) -> None:
    """What was hidden may have made room for another own word, which stands in the way of its return."""
    counted = {own for own, refusal in zip(before, lay_over(lexicon, before).refusals, strict=True) if not refusal}
    for own, refusal in zip(after, lay_over(lexicon, after).refusals, strict=True):
        if refusal and own in counted:
            hide_it = f'narrate lexicon hide "{own.words}" {own.means}'
            message = f"'{own.words}' means {own.means} among the shop's own words; hide it there first: {hide_it}"
            raise NarrateError(message)


def _same(lexicon: Lexicon, one: OwnWord, other: OwnWord) -> bool:
    """Whether two lines are about the same words of the same thing."""
    said = [phrase_words(own.words, lexicon.spelling) for own in (one, other)]
    return one.means == other.means and said[0] == said[1]


def _with_word(entry: Entry, own: OwnWord) -> Entry:
    where: str = "heard" if own.kind == "heard" else "aliases"
    changed: dict[str, object] = {where: (*getattr(entry, where), own.words)}
    if own.needs_context:
        changed["needs_context"] = (*entry.needs_context, own.words)
    return entry.model_copy(update=changed)


def _digest(lexicon: Lexicon, own_words: Sequence[OwnWord]) -> str:
    """A digest of the lexicon and what the own words make of it; a note and the order change nothing."""
    lines = sorted([own.kind, own.words, own.means, own.needs_context] for own in own_words)
    whole = hashlib.sha256(json.dumps([lexicon.digest, lines]).encode())
    return f"sha256:{whole.hexdigest()}"
