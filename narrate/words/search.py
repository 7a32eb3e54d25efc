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
    weight: float


def search_names(lexicon: Lexicon, sort: Sort, letters: str, *, market: str = "us", limit: int = 12) -> list[Match]:
    """The entries of a sort that `letters` may stand for, the likeliest first; none for no letters.

    `brp`, `pad br` and `brake pd` all lead to the brake pad.
    """
    typed = " ".join(letters.lower().replace("-", " ").split())
    if not typed:
        return []
    names = _names(lexicon, sort, market)
    ranked: dict[str, tuple[float, _Named]] = {}
    for named in names:
        how = _how(typed, named.said, named.words)
        if how:
            # Shorter names first among equals: "belt" means the belt, not the belt tensioner pulley.
            _keep(ranked, how + named.weight - len(named.said) / 200, named)
    if len(ranked) < FEW:
        said = [named.said for named in names]
        for _, score, place in process.extract(typed, said, scorer=fuzz.WRatio, score_cutoff=LIKELY, limit=limit):
            _keep(ranked, score / 100 - 1 - len(said[place]) / 200, names[place])
    best = sorted(ranked.values(), key=lambda pair: (-pair[0], pair[1].name))[:limit]
    return [Match(n.id, n.name, None if n.said == n.name else n.said) for _, n in best]


def _keep(ranked: dict[str, tuple[float, _Named]], score: float, named: _Named) -> None:
    if named.id not in ranked or ranked[named.id][0] < score:
        ranked[named.id] = (score, named)


def _how(typed: str, said: str, words: list[str]) -> float:
    """How well the letters match a name; 0 where they do not."""
    if typed == said:
        return WHOLE
    if said.startswith(typed):
        return BEGINS
    if _begin_words(typed.replace(" ", ""), words) or _each_begins(typed.split(), words):
        return PARTS
    return INSIDE if typed in said else 0.0


def _begin_words(letters: str, words: list[str]) -> bool:
    """Whether letters are beginnings of words in order, the first word among them: `brp` is brake pad."""
    if not letters or not words or letters[0] != words[0][0]:
        return False
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


def _each_begins(typed: list[str], words: list[str]) -> bool:
    """Whether each word typed begins a word of the name, in any order."""
    return len(typed) > 1 and all(any(word.startswith(part) for word in words) for part in typed)


@lru_cache(maxsize=16)
def _names(lexicon: Lexicon, sort: Sort, market: str) -> tuple[_Named, ...]:
    return tuple(_each_name(lexicon, sort, market))


def _each_name(lexicon: Lexicon, sort: Sort, market: str) -> Iterator[_Named]:
    if sort == "component":
        counts: Counter[str] = Counter()
        for entry in lexicon.often.values():
            counts[entry.component] += entry.count
        most = math.log1p(max(counts.values(), default=1))
        for id_, part in lexicon.components.items():
            for said in part.names:
                yield _Named(id_, lexicon.name(id_, market), said, said.split(), OFTEN * math.log1p(counts[id_]) / most)
        return
    entries: Mapping[str, ConditionEntry | ActionEntry] = lexicon.conditions if sort == "condition" else lexicon.actions
    for place, (id_, each) in enumerate(entries.items()):
        # The files begin with what is commonest.
        weight = -place / 1000
        yield _Named(id_, each.name, each.name, each.name.split(), weight + OWN_NAME)
        for said in each.aliases:
            yield _Named(id_, each.name, said, said.split(), weight)
