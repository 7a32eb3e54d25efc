"""How well one case was found, and all cases together."""

from collections.abc import Iterable
from dataclasses import dataclass

from narrate.records.case import Case, Expected
from narrate.records.walkaround import Finding, Walkaround
from narrate.score.amounts import amounts_taken_back, count_beside
from narrate.score.counts import COUNTED, FIELDS, Counted, Counts, Field, Share
from narrate.score.details import count_details, detail_misses, used_keys
from narrate.score.fields import (
    compare_fields,
    conditions_beyond,
    same_component,
    side_swapped,
    verdict_flipped,
)
from narrate.score.heading import count_of_case, heading_misses
from narrate.score.kept import Kept, count_kept
from narrate.score.misses import Miss, list_misses
from narrate.score.names import Names
from narrate.score.pairing import Pairing, pair_findings


@dataclass(frozen=True)
class CaseScore:
    """One case. `misses` is empty where the case may not be tuned on."""

    case_id: str
    tunable: bool
    counts: dict[Counted, Counts]
    swapped: Share
    """Of paired findings asked for on one side, those on the other."""
    flipped: Share
    """Of paired findings expected ok or at fault, those turned into the other."""
    conditions_beyond: Share
    """Of the conditions given in paired findings with scored conditions, those not acceptable."""
    kept: Kept
    forbidden: tuple[str, ...]
    """Components listed as a fault that may not be."""
    taken_back: int
    """Amounts given that may not appear."""
    misses: tuple[Miss, ...]


def measure_case(
    case: Case, walkaround: Walkaround, *, names: Names, tunable: bool = True, keys: frozenset[str] | None = None
) -> CaseScore:
    """Pair what was found with what was expected and count.

    Findings a person dropped are not findings. An optional expected finding and its pair count nowhere.
    For each field: owed are the owed findings that score it; given are their pairs, and every unexpected
    finding once; right are the pairs with the field right. A whole finding has no scored field wrong.
    keys: every key that the case's file uses (by default, that the case uses): whether it tells of details
    and of the heading at all.
    """
    keys = used_keys((case,)) if keys is None else keys
    found = tuple(finding for finding in walkaround.findings if finding.review.state != "dropped")
    pairing = pair_findings(case.finding, found, names=names)
    pairs = tuple((expected, finding) for expected, finding in pairing.pairs if not expected.optional)
    owed = tuple(expected for expected in case.finding if not expected.optional)
    concerns = {concern.id: concern for concern in walkaround.concerns}
    beyond = [(conditions_beyond(e, f, names=names), f) for e, f in pairs if e.conditions]
    return CaseScore(
        case_id=case.id,
        tunable=tunable,
        counts=_count_fields(owed, pairs, pairing, names)
        | count_beside(owed, pairs, pairing.extra, concerns)
        | count_details(owed, pairs, pairing.extra, keys=keys)
        | count_of_case(case, walkaround, keys=keys),
        swapped=_share(side_swapped(e, f) for e, f in pairs),
        flipped=_share(verdict_flipped(e, f) for e, f in pairs),
        conditions_beyond=Share(sum(n for n, _ in beyond), sum(len(f.conditions) for _, f in beyond)),
        kept=count_kept(pairing.missed, (finding for _, finding in pairing.pairs), walkaround),
        forbidden=tuple(
            name
            for name in case.must_not
            if any(f.status == "fault" and same_component((name,), f, names=names) for f in found)
        ),
        taken_back=sum(amounts_taken_back(e, f) for e, f in pairing.pairs),
        misses=(
            *list_misses(pairs, pairing, names=names),
            *detail_misses(pairs, keys=keys),
            *heading_misses(case, walkaround, keys=keys),
        )
        if tunable
        else (),
    )


def add_counts(scores: Iterable[CaseScore]) -> dict[Counted, Counts]:
    """The counts of all cases together: every finding weighs the same, in whatever case."""
    scores = tuple(scores)
    return {name: sum((score.counts[name] for score in scores), Counts()) for name in COUNTED}


def _count_fields(
    owed: tuple[Expected, ...], pairs: tuple[tuple[Expected, Finding], ...], pairing: Pairing, names: Names
) -> dict[Counted, Counts]:
    compared = [compare_fields(expected, finding, names=names) for expected, finding in pairs]
    extra = len(pairing.extra)
    counts: dict[Counted, Counts] = {}
    for name in FIELDS:
        verdicts = [right.of(name) for right in compared]
        right = sum(verdict is True for verdict in verdicts)
        given = sum(verdict is not None for verdict in verdicts) + extra
        counts[name] = Counts(right, given, sum(_scores(expected, name) for expected in owed))
    whole = sum(right.whole for right in compared)
    counts["whole"] = Counts(whole, len(pairs) + extra, len(owed))
    return counts


def _scores(expected: Expected, name: Field) -> bool:
    return {
        "component": True,
        "location": expected.locations is not None,
        "status": expected.status is not None,
        "condition": bool(expected.conditions),
        "action": expected.actions is not None,
    }[name]


def _share(verdicts: Iterable[bool | None]) -> Share:
    concerned = [verdict for verdict in verdicts if verdict is not None]
    return Share(sum(concerned), len(concerned))
