"""What a finding says further: reason, consequence, timing, tests, part options, urgency."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from scipy.optimize import linear_sum_assignment

from narrate.records.case import Case, Expected
from narrate.records.walkaround import Finding
from narrate.score.counts import Counts, Detail
from narrate.score.misses import Miss
from narrate.score.names import split_words

Answers = tuple[str, ...]
"""Every acceptable answer to one thing owed."""


def same_words(one: str, other: str) -> bool:
    """Whether the F1 of the words of two texts is at least one half.

    >>> same_words("it's been leaking on the belt", "leaking on the belt"), same_words("the belt", "the hose leaks")
    (True, False)
    """
    words, others = Counter(split_words(one)), Counter(split_words(other))
    both = words.total() + others.total()
    return both > 0 and 4 * (words & others).total() >= both


def _equal(one: str, other: str) -> bool:
    return one == other


@dataclass(frozen=True)
class _Kind:
    name: Detail
    key: str
    """The key of a case that holds what is owed."""
    owed: Callable[[Expected], Iterable[Answers]]
    given: Callable[[Finding], Iterable[str | None]]
    same: Callable[[str, str], bool] = same_words

    def compare(self, expected: Expected, finding: Finding) -> tuple[int, list[Answers], list[str]]:
        """How many are right, each meeting one owed; what was owed; what was given."""
        owed = [answers for answers in self.owed(expected) if answers]
        given = [text for text in self.given(finding) if text]
        fits = np.array([[any(self.same(a, text) for a in answers) for text in given] for answers in owed])
        if not fits.size:
            return 0, owed, given
        return int(fits[linear_sum_assignment(fits, maximize=True)].sum()), owed, given


def _said_urgency(finding: Finding) -> str | None:
    # A case tells what was said: an urgency that a rule adds is neither right nor wrong.
    urgency = finding.urgency
    if urgency and urgency.origin == "rule":
        urgency = urgency.said
    return urgency.when if urgency else None


_KINDS = (
    _Kind("reason", "reason", lambda e: [e.reason], lambda f: [f.reason]),
    _Kind("consequence", "consequence", lambda e: [e.consequence], lambda f: [f.consequence]),
    _Kind("timing", "timing", lambda e: [e.timing], lambda f: [f.recommendation.timing]),
    _Kind("while open", "while_open", lambda e: [e.while_open], lambda f: [f.recommendation.conditional_on]),
    _Kind("test", "tests", lambda e: [(test,) for test in e.tests], lambda f: f.tests),
    _Kind("part option", "part_options", lambda e: [(o,) for o in e.part_options], lambda f: f.part_options, _equal),
    _Kind("urgency", "urgency", lambda e: [(e.urgency,)] if e.urgency else [], lambda f: [_said_urgency(f)], _equal),
)
DETAIL_KEYS = frozenset(kind.key for kind in _KINDS)


def used_keys(cases: Iterable[Case]) -> frozenset[str]:
    """Every key that the cases, or findings in them, use."""
    keys: set[str] = set()
    for case in cases:
        keys |= case.model_fields_set.union(*(expected.model_fields_set for expected in case.finding))
    return frozenset(keys)


def count_details(
    owed: Iterable[Expected],
    pairs: Iterable[tuple[Expected, Finding]],
    extra: Iterable[Finding],
    *,
    keys: frozenset[str],
) -> dict[Detail, Counts]:
    """Count what findings say further; `keys` are those that the case's file uses.

    Unlike an amount, a detail that the case leaves out was not said: one given there is wrong. In files
    that tell of no detail at all, nothing is counted.
    """
    owed, pairs, extra = tuple(owed), tuple(pairs), tuple(extra)
    if keys.isdisjoint(DETAIL_KEYS):
        return {kind.name: Counts() for kind in _KINDS}
    counts: dict[Detail, Counts] = {}
    for kind in _KINDS:
        compared = [kind.compare(expected, finding) for expected, finding in pairs]
        given = sum(len(found) for _, _, found in compared) + sum(
            bool(text) for finding in extra for text in kind.given(finding)
        )
        wanted = sum(bool(answers) for expected in owed for answers in kind.owed(expected))
        counts[kind.name] = Counts(sum(right for right, _, _ in compared), given, wanted)
    return counts


def detail_misses(pairs: Iterable[tuple[Expected, Finding]], *, keys: frozenset[str]) -> list[Miss]:
    """What paired findings should have said further, or should not."""
    if keys.isdisjoint(DETAIL_KEYS):
        return []
    misses = []
    for expected, finding in pairs:
        for kind in _KINDS:
            right, owed, given = kind.compare(expected, finding)
            if right < max(len(owed), len(given)):
                wanted = [" or ".join(answers) for answers in owed]
                text = f"{kind.name}: {_listed(wanted)} expected, {_listed(given)} found"
                misses.append(Miss("wrong", finding.component.name, text))
    return misses


def _listed(texts: Sequence[str]) -> str:
    return " + ".join(texts) or "none"
