"""Stage 5: a bare word ("hose", "pump", "seal") means the part that is being talked about."""

from bisect import bisect_left, bisect_right, insort
from collections import defaultdict
from dataclasses import replace

from narrate.find.draft import Draft, Mention
from narrate.find.vocabulary import Vocabulary

SAME_PART = 80
"""How many tokens back a part named in full is still the one a bare word means."""
IN_FOCUS = 30
"""How many tokens away a part of the same system still tells the system."""


def resolve_short_names(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Choose one meaning for every bare name, or drop it: named before, else of the system in focus, else usual."""
    spans: dict[tuple[int, int], list[Mention]] = defaultdict(list)
    for mention in draft.mentions:
        if mention.family == "component":
            spans[mention.first, mention.last].append(mention)
    bare = {span: mentions for span, mentions in spans.items() if any(m.how == "short" for m in mentions)}
    if not bare:
        return draft
    dropped: set[str] = set()
    chosen: dict[str, Mention] = {}
    named = sorted((m for m in draft.mentions if m.family == "component" and (m.first, m.last) not in bare), key=_first)
    places = {m.last for m in draft.mentions if m.family == "location"}
    last_word = {m.id: draft.tokens[m.last].text.rstrip("s") for m in draft.mentions if m.family == "component"}
    for (first, _), mentions in sorted(bare.items()):
        meanings = _placeable(mentions, vocabulary) if first - 1 in places else mentions
        pick = _pick(first, meanings, named, vocabulary, last_word)
        if pick is None and len(meanings) < len(mentions):
            pick = meanings[0]
        dropped |= {mention.id for mention in mentions}
        if pick:
            dropped.discard(pick.id)
            chosen[pick.id] = pick
            # A word resolved once is itself a sign of what is talked about.
            insort(named, pick, key=_first)
    kept = tuple(chosen.get(m.id, m) for m in draft.mentions if m.id not in dropped)
    return replace(draft, mentions=kept)


def _placeable(meanings: list[Mention], vocabulary: Vocabulary) -> list[Mention]:
    """The one meaning of which there are several at different places, if only one is: "rear belts" drive nothing."""
    components = vocabulary.lexicon.components
    placed = [m for m in meanings if components[m.key].places]
    return placed if len({m.key for m in placed}) == 1 else meanings


def _pick(
    first: int, meanings: list[Mention], named: list[Mention], vocabulary: Vocabulary, last_word: dict[str, str]
) -> Mention | None:
    usual = next((m for m in meanings if m.how != "short"), None)
    system_of = vocabulary.lexicon.system_of
    by_key = {m.key: m for m in reversed(meanings)}
    here = bisect_left(named, first, key=_first)
    before = named[bisect_left(named, first - SAME_PART, key=_first) : here]
    for part in reversed(before):
        if part.key in by_key:
            return _resolved(by_key[part.key], usual, f"named before ({part.id})", part)
        if part.last > part.first and last_word[part.id] == last_word[meanings[0].id]:
            # "The valve cover gasket is leaking, the gasket is hard": its last word alone.
            again = replace(meanings[0], key=part.key, how="short")
            return _resolved(again, usual, f"named before ({part.id})", part)
    near = [m for m in reversed(before) if first - m.first <= IN_FOCUS]
    near += named[here : bisect_right(named, first + IN_FOCUS // 2, key=_first)]
    for part in near:
        fitting = [m for m in meanings if system_of[m.key] == system_of[part.key]]
        if fitting:
            # Of several parts of the system, one named after the part talked about: bonnet, the (bonnet) cable.
            named_after = [m for m in fitting if _name_words(m.key, vocabulary) & _name_words(part.key, vocabulary)]
            usually = [m for m in fitting if m is usual]
            best = (named_after or usually or fitting)[0]
            return _resolved(best, usual, f"its system is talked about ({part.id})", part)
    return usual


def _name_words(component: str, vocabulary: Vocabulary) -> frozenset[str]:
    entry = vocabulary.lexicon.components[component]
    return frozenset(f"{entry.name} {entry.gb or ''}".split())


def _resolved(mention: Mention, usual: Mention | None, why: str, sign: Mention) -> Mention:
    other = usual.key if usual and usual.key != mention.key else None
    if mention.how != "short":
        return mention
    return replace(
        mention,
        score=0.8,
        runner_up=other,
        because=(*mention.because, *sign.because),
        why=f"bare name: {why}",
    )


def _first(mention: Mention) -> int:
    return mention.first
