"""What changed between two walkarounds or estimates, and back again.

Words heard stay out: they lie in `heard` and never change.
"""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

from narrate.errors import StoreError
from narrate.records.estimate import Estimate
from narrate.records.event import Change
from narrate.records.walkaround import Walkaround

Folded = TypeVar("Folded", Walkaround, Estimate)
"""A record that is the fold of its events."""
WITH_IDS: dict[type[Walkaround | Estimate], tuple[str, ...]] = {
    Walkaround: ("recordings", "concerns", "findings", "unplaced", "suggestions"),
    Estimate: ("jobs", "to_be_priced"),
}
"""Lists whose things change one by one."""
COUNTED = "ids_used"
Plain = dict[str, Any]
"""A record as JSON values, recordings without words."""


def plain(record: Walkaround | Estimate) -> Plain:
    """Return a record as JSON values, without the words of its recordings."""
    return record.model_dump(mode="json", exclude={"recordings": {"__all__": {"words"}}})


def difference(before: Folded | None, after: Folded) -> tuple[Change, ...]:
    """Return what turns `before` (None: nothing) into `after`."""
    return plain_difference({} if before is None else plain(before), plain(after), WITH_IDS[type(after)])


def plain_difference(before: Plain, after: Plain, with_ids: Iterable[str]) -> tuple[Change, ...]:
    """Return what turns `before` into `after`. Raises StoreError where one list holds an id twice."""
    changes: list[Change] = []
    for kind in [*after, *(kind for kind in before if kind not in after)]:
        old, new = before.get(kind), after.get(kind)
        if old == new:
            continue
        if kind in with_ids:
            changes.extend(_in_list(kind, old or [], new or []))
        else:
            changes.append(Change(kind=kind, before=old, after=new))
    return tuple(changes)


def applied(record: Folded, changes: Iterable[Change]) -> Folded:
    """Return the record after the changes; recordings put in have no words."""
    after = type(record).model_validate(plain_applied(plain(record), changes, type(record)))
    if not (isinstance(record, Walkaround) and isinstance(after, Walkaround)):
        return after
    words = {recording.id: recording.words for recording in record.recordings}
    recordings = (each.model_copy(update={"words": words.get(each.id, ())}) for each in after.recordings)
    return after.model_copy(update={"recordings": tuple(recordings)})


def plain_applied(record: Plain, changes: Iterable[Change], model: type[Walkaround | Estimate] = Walkaround) -> Plain:
    """Return the record after the changes. Counts of ids only rise. Raises StoreError where they do not fit."""
    after = dict(record)
    by_kind: dict[str, list[Change]] = {}
    for change in changes:
        by_kind.setdefault(change.kind, []).append(change)
    for kind, of_kind in by_kind.items():
        if kind in WITH_IDS[model]:
            after[kind] = _list_after(kind, after.get(kind) or [], of_kind)
        elif kind == COUNTED:
            after[kind] = highest(after.get(kind), *(change.after for change in of_kind))
        else:
            after[kind] = of_kind[-1].after
            if after[kind] is None and kind not in model.model_fields:
                del after[kind]
    return after


def reversed_changes(changes: Iterable[Change]) -> tuple[Change, ...]:
    """Return the changes that take these back; places are those of the list without the thing."""
    back = [change.model_copy(update={"before": change.after, "after": change.before}) for change in changes]
    return tuple(reversed(back))


def highest(*counts: Mapping[str, int] | None) -> dict[str, int]:
    """Return the highest count of each letter."""
    together: dict[str, int] = {}
    for each in counts:
        for letter, number in (each or {}).items():
            together[letter] = max(number, together.get(letter, 0))
    return together


def _in_list(kind: str, before: list[Plain], after: list[Plain]) -> list[Change]:
    old, new = _by_id(kind, before), _by_id(kind, after)
    places = {id_: place for place, id_ in enumerate(new)}
    were = {id_: place for place, id_ in enumerate(old)}
    gone = [Change(kind=kind, id=id_, before=old[id_], place=were[id_]) for id_ in old if id_ not in new]
    other = [
        Change(kind=kind, id=id_, before=old[id_], after=new[id_]) for id_ in new if id_ in old and old[id_] != new[id_]
    ]
    come = [Change(kind=kind, id=id_, after=new[id_], place=places[id_]) for id_ in new if id_ not in old]
    changes = [*gone, *other, *come]
    if [id_ for id_ in old if id_ in new] != [id_ for id_ in new if id_ in old]:
        changes.append(Change(kind=kind, before=list(old), after=list(new)))
    return changes


def _list_after(kind: str, things: list[Plain], changes: list[Change]) -> list[Plain]:
    """Take out, change, put in at the places given, and last bring into the order given, if one is."""
    present = _by_id(kind, things)
    single = [change for change in changes if change.id is not None]
    for change in single:
        if (change.before is None) == (change.id in present):
            message = f"A change of {kind} {change.id} does not fit what is there."
            raise StoreError(message)
        if change.before is not None and change.after is None:
            del present[str(change.id)]
        elif change.before is not None:
            present[str(change.id)] = change.after
    after = list(present.values())
    come = [change for change in single if change.before is None]
    for change in sorted(come, key=lambda change: change.place or 0):
        after.insert(len(after) if change.place is None else change.place, change.after)
    for change in changes:
        if change.id is None:
            order = {id_: place for place, id_ in enumerate(change.after)}
            after.sort(key=lambda thing: order.get(thing["id"], len(order)))
    return after


def _by_id(kind: str, things: list[Plain]) -> dict[str, Plain]:
    by_id = {thing["id"]: thing for thing in things}
    if len(by_id) < len(things):
        message = f"Two {kind} bear one id; nothing was kept."
        raise StoreError(message)
    return by_id
