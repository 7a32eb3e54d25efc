"""What a person has still to settle before the list can be signed, in the order to take it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from narrate.records.walkaround import Finding, Walkaround

STAYS_OPEN = ("open", "partly")


@dataclass(frozen=True, slots=True)
class Unsettled:
    """One thing to settle."""

    kind: Literal["finding", "contradiction", "concern", "unplaced"]
    about: str
    """Its id; of a contradiction, its findings joined by `+`, as decisions name it."""
    text: str
    """One sentence."""


def what_blocks(walkaround: Walkaround) -> tuple[Unsettled, ...]:
    """Everything not settled yet: findings nobody checked, contradictions, open concerns, words that fit nowhere.

    What was dropped counts for nothing.
    """
    decided = {decision.about for decision in walkaround.decisions}
    return (
        *_findings(walkaround),
        *_contradictions(walkaround, decided),
        *_concerns(walkaround, decided),
        *_unplaced(walkaround, decided),
    )


def _findings(walkaround: Walkaround) -> Iterator[Unsettled]:
    rank = {id_: number for number, id_ in enumerate(walkaround.review_order)}
    waiting = [f for f in walkaround.findings if f.review.state == "unreviewed"]
    for finding in sorted(waiting, key=lambda f: rank.get(f.id, len(rank))):
        yield Unsettled("finding", finding.id, f"The {_told(finding)} has not been checked.")


def _told(finding: Finding) -> str:
    places = f" ({', '.join(finding.locations)})" if finding.locations else ""
    return f"{finding.component.name}{places}"


def _contradictions(walkaround: Walkaround, decided: set[str]) -> Iterator[Unsettled]:
    dropped = {f.id for f in walkaround.findings if f.review.state == "dropped"}
    texts: dict[str, list[str]] = {}
    for each in walkaround.contradictions:
        if not dropped.intersection(each.between):
            texts.setdefault("+".join(each.between), []).append(each.text)
    for about, told in texts.items():
        if about not in decided:
            yield Unsettled("contradiction", about, " ".join(told))


def _concerns(walkaround: Walkaround, decided: set[str]) -> Iterator[Unsettled]:
    for concern in walkaround.concerns:
        if concern.state in STAYS_OPEN and concern.id not in decided:
            only = "Nobody has confirmed what answers" if concern.state == "partly" else "Nothing answers"
            yield Unsettled("concern", concern.id, f"{only} the customer's concern '{concern.text}'.")


def _unplaced(walkaround: Walkaround, decided: set[str]) -> Iterator[Unsettled]:
    for each in walkaround.unplaced:
        if each.id not in decided:
            said = " … ".join(piece.said for piece in each.evidence)
            yield Unsettled("unplaced", each.id, f"'{said}' was heard and belongs to no finding.")
