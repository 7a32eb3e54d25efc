"""Nothing lost: where the words of missed findings went."""

from collections.abc import Iterable
from dataclasses import dataclass

from narrate.records.case import Expected
from narrate.records.walkaround import Evidence, Finding, Walkaround
from narrate.score.counts import Share
from narrate.score.names import spoken_at

REACH = 6
"""Words on either side of a part's name that are taken to tell of it."""

Place = tuple[str, int]
"""A recording's id and a word number in it."""


@dataclass(frozen=True)
class Kept:
    """What became of the words."""

    carrying: Share
    """Of the words that carry missed findings, those in some evidence or unplaced."""
    unplaced: Share
    """Of all words, those that unplaced holds."""
    not_located: int
    """Missed findings none of whose names was heard, so that nobody can say where their words went."""


def count_kept(missed: Iterable[Expected], paired: Iterable[Finding], walkaround: Walkaround) -> Kept:
    """Count them.

    The words that carry a missed finding are every place where one of its accepted names was heard, with
    REACH words on either side. Places inside the evidence of a paired finding are left out while others
    remain: they tell of a part of the same name that was found.
    """
    told = _places(e for finding in paired for e in finding.evidence)
    stretches = [e for f in walkaround.findings for e in f.evidence]
    stretches += [e for c in walkaround.concerns for e in c.evidence]
    unplaced = _places(e for u in walkaround.unplaced for e in u.evidence)
    held = _places(stretches) | unplaced
    carrying: set[Place] = set()
    not_located = 0
    for expected in missed:
        mentions = list(_mentions(expected, walkaround))
        elsewhere = [around for name, around in mentions if not name <= told]
        chosen = elsewhere or [around for _, around in mentions]
        carrying.update(*chosen)
        not_located += not chosen
    words = sum(len(recording.words) for recording in walkaround.recordings)
    return Kept(Share(len(carrying & held), len(carrying)), Share(len(unplaced), words), not_located)


def _mentions(expected: Expected, walkaround: Walkaround) -> Iterable[tuple[set[Place], set[Place]]]:
    """Each hearing of the name: its own words, and they with the words around."""
    for recording in walkaround.recordings:
        words = [word.text for word in recording.words]
        for at in spoken_at(expected.component, words):
            around = range(max(at.start - REACH, 0), min(at.stop + REACH, len(words)))
            yield {(recording.id, n) for n in at}, {(recording.id, n) for n in around}


def _places(stretches: Iterable[Evidence]) -> set[Place]:
    return {(e.recording, n) for e in stretches for n in range(e.first_word, e.last_word + 1)}
