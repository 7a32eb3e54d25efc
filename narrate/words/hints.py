"""What to listen for in a recording, by the systems that are talked about."""

import math
from collections.abc import Iterable

from narrate.words.lexicon import Lexicon

MOST = 120
"""More names than fit into the hints of any model."""


def names_to_listen_for(lexicon: Lexicon, systems: Iterable[str]) -> tuple[str, ...]:
    """Names of parts of these systems, the most useful first: the shop's own words, then what is said often and
    easily mis-heard; then the usual names of other systems.

    One form of each name: the one said more often stands for "pad" and "pads".
    """
    wanted = frozenset(systems)
    own = [words for component, words in lexicon.own_words if lexicon.system_of[component] in wanted]
    fitting = [name for name, entry in lexicon.often.items() if lexicon.system_of[entry.component] in wanted]
    fitting.sort(key=lambda name: -_use(lexicon, name))
    chosen: dict[str, str] = {}
    for name in (*own, *fitting, *lexicon.hints):
        chosen.setdefault(name.lower().removesuffix("s"), name)
    return tuple(chosen.values())[:MOST]


def _use(lexicon: Lexicon, name: str) -> float:
    """Being said ten times as often counts about as much as being surely taken for something else."""
    entry = lexicon.often[name]
    return math.log10(entry.count) + entry.confusable
