"""Parts and conditions found in maintenance texts, against the spans that MaintIE's annotators marked."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from asking import Asked, word_span
from published import Span, WorkOrder

from narrate.find.draft import Draft
from narrate.score.counts import Counts, Share


@dataclass(frozen=True)
class MentionScores:
    """`exact` wants the same words; `overlapping` one word in common: one name may cover two marked objects, since
    MaintIE marks "steering" and "hose" apart in "steering hose"."""

    exact: Counts
    precision: Share
    """Overlapping: of what was found."""
    recall: Share
    """Overlapping: of what is marked."""
    known: Share
    """Recall over the spans whose every word occurs in some phrase that the lexicon has for such things."""
    missed: tuple[str, ...]
    """What was not found at all."""
    extra: tuple[str, ...]
    """What was found where nothing is marked."""

    @property
    def f1(self) -> float:
        """The harmonic mean of precision and recall, overlapping; 0 where one of them is."""
        precision, recall = self.precision.value or 0, self.recall.value or 0
        return 2 * precision * recall / (precision + recall) if precision + recall else 0.0


def score_parts(asked: Asked, texts: Sequence[WorkOrder]) -> MentionScores:
    """PhysicalObject spans against the parts found."""
    return _score(asked, "component", [(one, one.objects) for one in texts])


def score_conditions(asked: Asked, texts: Sequence[WorkOrder]) -> MentionScores:
    """State spans, and processes such as leaking, which MaintIE keeps apart from states, against the conditions."""
    return _score(asked, "condition", [(one, tuple(sorted((*one.states, *one.processes)))) for one in texts])


def score_states(asked: Asked, texts: Sequence[WorkOrder]) -> MentionScores:
    """State spans alone: only what was missed means anything, for conditions are processes too."""
    return _score(asked, "condition", [(one, one.states) for one in texts])


def _score(asked: Asked, family: str, texts: Iterable[tuple[WorkOrder, tuple[Span, ...]]]) -> MentionScores:
    words = {word for phrase in asked.lexicon.phrases() if phrase.family == family for word in phrase.words}
    exact, precision, recall, known = Counts(), Share(), Share(), Share()
    missed: list[str] = []
    extra: list[str] = []
    for one, marked in texts:
        found = _spans(asked.understand(one.words), family)
        exact += Counts(len(set(found) & set(marked)), len(found), len(marked))
        for span in marked:
            met = any(_share_a_word(span, other) for other in found)
            recall += Share(met, 1)
            if all(word in words for word in re.split(r"[ -]", one.text(span).lower())):
                known += Share(met, 1)
            missed += [] if met else [one.text(span)]
        for span in found:
            right = any(_share_a_word(span, other) for other in marked)
            precision += Share(right, 1)
            extra += [] if right else [one.text(span)]
    return MentionScores(exact, precision, recall, known, tuple(missed), tuple(extra))


def _spans(draft: Draft, family: str) -> list[Span]:
    return sorted({word_span(draft, m) for m in draft.mentions if m.family == family})


def _share_a_word(one: Span, other: Span) -> bool:
    return one[0] <= other[1] and other[0] <= one[1]


@dataclass(frozen=True)
class Coverage:
    """Of the distinct objects: named by the lexicon from the first word to the last, or at least by the last word."""

    whole: Share
    last_word: Share
    unknown: tuple[str, ...]


def score_coverage(asked: Asked, texts: Sequence[WorkOrder]) -> Coverage:
    """How many distinct objects the lexicon has, guesses not counted."""
    whole, last_word = Share(), Share()
    unknown: list[str] = []
    for item in sorted({one.text(span).lower() for one in texts for span in one.objects}):
        draft = asked.read(item)
        parts = [m for m in draft.mentions if m.family == "component" and m.how != "guess"]
        end = len(draft.tokens) - 1
        whole += Share(any((part.first, part.last) == (0, end) for part in parts), 1)
        named = any(part.last == end for part in parts)
        last_word += Share(named, 1)
        unknown += [] if named else [item]
    return Coverage(whole, last_word, tuple(unknown))


@dataclass(frozen=True)
class Calm:
    """Texts marked with nothing undesirable: in how many narrate sees a fault, and in which of them not only
    because some work is asked for ("replace air filters")."""

    faults: Share
    unasked: Share
    unasked_texts: tuple[str, ...]


def score_calm(asked: Asked, texts: Sequence[WorkOrder]) -> Calm:
    """Look for faults where there are none."""
    faults = Share()
    unasked: list[str] = []
    calm = [" ".join(one.words) for one in texts if not one.troubled]
    for text in calm:
        found = [finding for finding in asked.find(text) if finding.status == "fault"]
        faults += Share(bool(found), 1)
        worse = [f for f in found if f.conditions or f.recommendation is None or f.recommendation.action is None]
        if worse:
            conditions = ", ".join(c.name for f in worse for c in f.conditions)
            unasked.append(f"{text} [{', '.join(f.component.id for f in worse)}: {conditions}]")
    return Calm(faults, Share(len(unasked), len(calm)), tuple(unasked))
