"""Talk about anything but a vehicle: whatever narrate finds in it is false."""

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from asking import Asked
from published import nemo_sentences, python_topics, quantities, questions

from narrate.records.walkaround import Finding

TOGETHER = 20
"""Sentences of one source that are read as one talk."""


@dataclass(frozen=True)
class TalkScores:
    """What was found in a number of words."""

    words: int
    statuses: Mapping[str, int]
    false: tuple[str, ...]
    """Each finding as `status part [conditions] action: words of its evidence`."""

    def per_thousand(self, status: str) -> float:
        """Findings of a status in a thousand words."""
        return 1000 * self.statuses.get(status, 0) / self.words

    def false_of(self, status: str) -> list[str]:
        """Those of one status."""
        return [one for one in self.false if one.startswith(f"{status} ")]


def talks(disfl_qa: Path, nemo: Path, quantulum3: Path) -> dict[str, list[str]]:
    """The texts of each source."""
    asked = questions(disfl_qa)
    return {
        "Python's help topics": python_topics(),
        "Disfl-QA, as written": _together([q.original for q in asked]),
        "Disfl-QA, disfluent": _together([q.disfluent for q in asked]),
        "NeMo, sentences": _together(nemo_sentences(nemo)),
        "quantulum3, sentences": _together([text for text, _ in quantities(quantulum3)]),
    }


def _together(sentences: Sequence[str]) -> list[str]:
    return [" ".join(sentences[first : first + TOGETHER]) for first in range(0, len(sentences), TOGETHER)]


def score_talk(asked: Asked, texts: Sequence[str]) -> TalkScores:
    """Findings by status, and what they were taken from."""
    found = [finding for text in texts for finding in asked.find(text)]
    words = sum(len(text.split()) for text in texts)
    return TalkScores(words, Counter(f.status for f in found), tuple(_shown(f) for f in found))


def _shown(finding: Finding) -> str:
    conditions = ", ".join(condition.name for condition in finding.conditions)
    action = finding.recommendation.action if finding.recommendation else None
    said = " … ".join(one.said for one in finding.evidence)
    return f"{finding.status} {finding.component.id} [{conditions}] {action}: {said}"
