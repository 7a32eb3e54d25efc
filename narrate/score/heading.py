"""What a case asks of the whole walk-round: its heading, and where a second vehicle begins."""

from collections.abc import Iterable
from decimal import Decimal

from narrate.records.case import Case
from narrate.records.walkaround import Evidence, Suggestion, Walkaround
from narrate.score.counts import Counts, OfCase
from narrate.score.details import DETAIL_KEYS
from narrate.score.misses import Miss
from narrate.score.names import split_words

HEADING_KEYS = frozenset(("order_number", "plate", "odometer", "vehicle", "technician", "second_vehicle"))
NEAR = 6
"""A split may begin this many words before or after the second vehicle does."""


def count_of_case(case: Case, walkaround: Walkaround, *, keys: frozenset[str]) -> dict[OfCase, Counts]:
    """Count heading and second vehicle; `keys` are those that the case's file uses.

    In a file that tells of a heading or of details, a value that the case leaves out was not said: one given
    there is wrong; in other files no heading is counted. A walk-round is of one vehicle unless its case says
    otherwise, in every file.
    """
    splits = _splits(walkaround)
    second = Counts(
        int(_split_met(case, walkaround, splits) is not None), len(splits), int(case.second_vehicle is not None)
    )
    if not _tells_heading(keys):
        return {"heading": Counts(), "second vehicle": second}
    owed, given = _owed(case), _given(walkaround)
    right = sum(_key(name, value) == _key(name, given.get(name)) for name, value in owed.items())
    return {"heading": Counts(right, len(given), len(owed)), "second vehicle": second}


def heading_misses(case: Case, walkaround: Walkaround, *, keys: frozenset[str]) -> list[Miss]:
    """What is wrong or missing in the heading, and a second vehicle missed or made up."""
    misses = []
    owed, given = _owed(case), _given(walkaround)
    for name in dict.fromkeys((*owed, *given)) if _tells_heading(keys) else ():
        wanted, found = owed.get(name), given.get(name)
        if _key(name, wanted) != _key(name, found):
            misses.append(Miss("wrong", "heading", f"{name}: {wanted or 'none'} expected, {found or 'none'} found"))
    splits = _splits(walkaround)
    met = _split_met(case, walkaround, splits)
    if case.second_vehicle is not None and met is None:
        misses.append(Miss("missing", "second vehicle", case.second_vehicle))
    misses += [Miss("extra", "second vehicle", split.text) for split in splits if split is not met]
    return misses


def _tells_heading(keys: frozenset[str]) -> bool:
    return not keys.isdisjoint(HEADING_KEYS | DETAIL_KEYS)


def _owed(case: Case) -> dict[str, str]:
    return _present(
        ("order number", case.order_number),
        ("plate", case.plate),
        ("odometer", _distance(*case.odometer) if case.odometer else None),
        ("year", case.vehicle.year),
        ("make", case.vehicle.make),
        ("model", case.vehicle.model),
        ("technician", case.technician),
    )


def _given(walkaround: Walkaround) -> dict[str, str]:
    vehicle = walkaround.vehicle
    odometer = vehicle.odometer
    return _present(
        ("order number", walkaround.order_number),
        ("plate", vehicle.plate),
        ("odometer", _distance(odometer.value, odometer.unit) if odometer else None),
        ("year", vehicle.year),
        ("make", vehicle.make),
        ("model", vehicle.model),
        ("technician", walkaround.technician),
    )


def _distance(value: Decimal, unit: str) -> str:
    return f"{value.normalize():f} {unit}"


def _present(*values: tuple[str, str | int | None]) -> dict[str, str]:
    return {name: str(value) for name, value in values if value}


def _key(name: str, value: str | None) -> str | None:
    """What is compared of a value: its case never counts, nor do the blanks of a plate."""
    if value is None:
        return None
    return ("" if name == "plate" else " ").join(value.casefold().split())


def _splits(walkaround: Walkaround) -> list[Suggestion]:
    return [suggestion for suggestion in walkaround.suggestions if suggestion.kind == "split"]


def _split_met(case: Case, walkaround: Walkaround, splits: Iterable[Suggestion]) -> Suggestion | None:
    begins = _begins(case.second_vehicle or "", walkaround)
    near = (split for split in splits if begins is not None and _near(begins, split.evidence[:1]))
    return next(near, None)


def _near(begins: tuple[str, int], evidence: Iterable[Evidence]) -> bool:
    recording, word = begins
    return any(e.recording == recording and abs(e.first_word - word) <= NEAR for e in evidence)


def _begins(text: str, walkaround: Walkaround) -> tuple[str, int] | None:
    """The recording and word where a text begins: where most of its words stand, at least half of them.

    Recognised words need not be the words said.
    """
    wanted = split_words(text)
    best, place = 0, None
    for recording in walkaround.recordings:
        parts = [(number, part) for number, word in enumerate(recording.words) for part in split_words(word.text)]
        for start, (number, _) in enumerate(parts):
            heard = parts[start : start + len(wanted)]
            same = sum(part == other for (_, part), other in zip(heard, wanted, strict=False))
            if same > best and 2 * same >= len(wanted):
                best, place = same, (recording.id, number)
    return place
