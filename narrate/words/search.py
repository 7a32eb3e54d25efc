"""Names for a few letters typed: what an advisor picks a component, condition or action from."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal, get_args

from rapidfuzz import fuzz, process

from narrate.words.entries import ActionEntry, ConditionEntry
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import phrase_words

Sort = Literal["component", "condition", "action"]
SORTS: tuple[Sort, ...] = get_args(Sort)
WHOLE, BEGINS, PARTS, INSIDE = 4.0, 3.0, 2.0, 1.0
"""How the letters match: the whole name, its beginning, beginnings of its words in order, anywhere in it."""
OFTEN = 0.9
"""What the part said most often gains, the others by the logarithm of how often they were said."""
OWN_NAME = 0.3
"""What the name that is shown gains over other words for the same."""
FEW = 3
LIKELY = 70.0
"""Spelling at least so alike (of 100) is offered where next to nothing matches letter by letter."""


@dataclass(frozen=True, slots=True)
class Match:
    """One entry of the lexicon that the letters may mean; `by` is the name they match, where it is another."""

    id: str
    name: str
    by: str | None = None


@dataclass(frozen=True, slots=True)
class _Named:
    id: str
    name: str
    said: str
    words: list[str]
    initials: str
    """First letters of the words, in order."""
    starts: frozenset[str]
    weight: float


def _named(id_: str, name: str, said: str, weight: float) -> _Named:
    words = said.split()
    initials = "".join(word[0] for word in words)
    return _Named(id_, name, said, words, initials, frozenset(initials), weight)


def search_names(lexicon: Lexicon, sort: Sort, letters: str, *, market: str = "us", limit: int = 12) -> list[Match]:
    """The entries of a sort that `letters` may stand for, the likeliest first; none for no letters.

    `brp`, `pad br` and `brake pd` all lead to the brake pad.
    """
    typed = " ".join(letters.lower().replace("-", " ").split())
    if not typed:
        return []
    names = _names(lexicon, sort, market)
    ranked: dict[str, tuple[float, _Named]] = {}
    parts, together, whole = typed.split(), typed.replace(" ", ""), False
    starts = frozenset(part[0] for part in parts)
    for named in names:
        # Most are passed over here: nothing in them begins as what was typed does.
        anywhere = len(parts) > 1 and starts <= named.starts
        if not anywhere and named.initials[0] != typed[0] and typed not in named.said:
            continue
        how = _how(typed, parts, together, named)
        whole = whole or how == WHOLE
        if how:
            # Shorter names first among equals: "belt" means the belt, not the belt tensioner pulley.
            _keep(ranked, how + named.weight - len(named.said) / 200, named)
    if len(ranked) < FEW and not whole:
        said = [named.said for named in names]
        for _, score, place in process.extract(typed, said, scorer=fuzz.WRatio, score_cutoff=LIKELY, limit=limit):
            _keep(ranked, score / 100 - 1 - len(said[place]) / 200, names[place])
    best = sorted(ranked.values(), key=lambda pair: (-pair[0], pair[1].name))[:limit]
    return [Match(n.id, n.name, None if n.said == n.name else n.said) for _, n in best]


def _keep(ranked: dict[str, tuple[float, _Named]], score: float, named: _Named) -> None:
    if named.id not in ranked or ranked[named.id][0] < score:
        ranked[named.id] = (score, named)


def _how(typed: str, parts: list[str], together: str, named: _Named) -> float:
    """How well the letters match a name; 0 where they do not. `parts`, `together`: typed, in words and without gaps."""
    said = named.said
    if typed == said:
        return WHOLE
    if said.startswith(typed):
        return BEGINS
    if named.initials[:1] == together[0] and _begin_words(together, named.words):
        return PARTS
    if len(parts) > 1 and _each_begins(parts, named):
        return PARTS
    return INSIDE if typed in said else 0.0


def _begin_words(letters: str, words: list[str]) -> bool:
    """Whether letters are beginnings of words in order, the first word among them: `brp` is brake pad."""
    ends = {0}
    for number, word in enumerate(words):
        reached = set() if number == 0 else set(ends)
        for end in ends:
            for size in range(1, min(len(word), len(letters) - end) + 1):
                if letters[end : end + size] != word[:size]:
                    break
                reached.add(end + size)
        ends = reached
    return len(letters) in ends


def _each_begins(parts: list[str], named: _Named) -> bool:
    """Whether each word typed begins a word of the name, in any order."""
    return all(any(word.startswith(part) for word in named.words) for part in parts)


@lru_cache(maxsize=16)
def _names(lexicon: Lexicon, sort: Sort, market: str) -> tuple[_Named, ...]:
    named = _each_name(lexicon, sort, market)
    if not lexicon.hidden:
        return tuple(named)
    # What the shop hid leads to nothing, but a name that is shown must be found by itself.
    hidden = {(id_, words) for family, id_, words in lexicon.hidden if family == sort}
    return tuple(n for n in named if n.said == n.name or (n.id, phrase_words(n.said, lexicon.spelling)) not in hidden)


def _each_name(lexicon: Lexicon, sort: Sort, market: str) -> Iterator[_Named]:
    if sort == "component":
        counts: Counter[str] = Counter()
        for entry in lexicon.often.values():
            counts[entry.component] += entry.count
        most = math.log1p(max(counts.values(), default=1))
        for id_, part in lexicon.components.items():
            for said in part.names:
                yield _named(id_, lexicon.name(id_, market), said, OFTEN * math.log1p(counts[id_]) / most)
        return
    entries: Mapping[str, ConditionEntry | ActionEntry] = lexicon.conditions if sort == "condition" else lexicon.actions
    for place, (id_, each) in enumerate(entries.items()):
        # The files begin with what is commonest.
        weight = -place / 1000
        yield _named(id_, each.name, each.name, weight + OWN_NAME)
        for said in each.aliases:
            yield _named(id_, each.name, said, weight)
