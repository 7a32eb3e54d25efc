"""Recordings of one vehicle put together as one walkaround where that is sure; where it is not, a person is asked."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count

from narrate.errors import ConflictError, NarrateError
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.store.engine import Store
from narrate.store.jobs import MOST_TRIES as MOST_ROUNDS
from narrate.store.open_orders import plates_known
from narrate.store.orders import order_of
from narrate.store.vehicles import key_of, previous_walkaround
from narrate.store.walkarounds import Held, history, join_walkarounds, read_walkaround
from narrate.work.day_intake import WHO, Item
from narrate.work.day_ties import SHORTEST_PLATE, counted, keys_in
from narrate.work.queue import Steps

ONE_VISIT_S = 12 * 3600.0
"""What was recorded further apart may be before and after the repair."""
BY_NARRATE = frozenset(("heard", "join"))
"""What happens to a walkaround before a person looks at it."""


@dataclass(frozen=True, kw_only=True)
class Part:
    """A walkaround of the day, and the items of the folder that are in it."""

    held: Held
    items: tuple[Item, ...]

    @property
    def said_plate(self) -> str:
        """The plate that was said in it, as `key_of` writes it."""
        return key_of(next((each.value for each in self.held.walkaround.heading if each.field == "plate"), None))

    @property
    def plate(self) -> str:
        """The plate that was said in it, else that of its order."""
        return self.said_plate or key_of(self.held.walkaround.vehicle.plate)


@dataclass(frozen=True, kw_only=True)
class Group:
    """Walkarounds that seem to be of one vehicle; `why` they were not put together, empty where they were."""

    parts: tuple[Part, ...]
    by: str
    why: str = ""


def put_together(store: Store, steps: Steps, parts: Sequence[Part]) -> tuple[list[Group], list[Group]]:
    """Put together what is surely of one vehicle; return what was, and what a person should look at."""
    joined, doubtful = [], []
    for group in groups(store, parts):
        why = _why_not(store, group)
        if why:
            doubtful.append(Group(parts=group.parts, by=group.by, why=why))
            continue
        try:
            _join(store, steps, group)
            joined.append(group)
        except NarrateError as error:
            doubtful.append(Group(parts=group.parts, by=group.by, why=str(error)))
    return joined, doubtful


def groups(store: Store, parts: Sequence[Part]) -> list[Group]:
    """Return the walkarounds, two and more, of one order, of one plate as said, or of one known vehicle by name."""
    known = _plates_named(store, parts)
    found: dict[tuple[str, object], list[Part]] = {}
    for part in parts:
        if part.held.visit_id is not None:
            found.setdefault(("order", part.held.visit_id), []).append(part)
        elif len(part.plate) >= SHORTEST_PLATE:
            found.setdefault(("plate", part.plate), []).append(part)
        elif part.held.id in known:
            found.setdefault(("plate", known[part.held.id]), []).append(part)
    # The one recorded first comes first, and keeps its name.
    return [
        Group(parts=tuple(sorted(several, key=lambda part: (_moment(part), part.held.row))), by=kind)
        for (kind, _), several in found.items()
        if len(several) > 1
    ]


def untouched(store: Store, held: Held) -> bool:
    """Whether nobody has looked at a walkaround yet, as far as its history tells."""
    return held.state == "to_check" and all(each.what in BY_NARRATE for each in history(store, held.id))


def _plates_named(store: Store, parts: Sequence[Part]) -> dict[str, str]:
    """By walkaround: the one plate known to the shop that all its files, or the folders they lie in, are called."""
    keys: dict[str, set[str]] = {}
    for part in parts:
        for item in part.items:
            named = [name for name in (item.name.stem, item.name.parent.name) if not counted(name)]
            found = {key for name in named for key in keys_in(name) if len(key) >= SHORTEST_PLATE}
            keys[part.held.id] = keys.get(part.held.id, found) & found
    known = plates_known(store, {key for found in keys.values() for key in found})
    return {id_: next(iter(found & known)) for id_, found in keys.items() if len(found & known) == 1}


def _why_not(store: Store, group: Group) -> str:
    """Why recordings of one order or plate are not surely of one walk-round; empty where they are."""
    walkarounds = [part.held.walkaround for part in group.parts]
    if not all(untouched(store, part.held) for part in group.parts):
        return f"They are of one {group.by}, but someone has worked on one of them; put them together on the page."
    if any(each.kind == "split" for walkaround in walkarounds for each in walkaround.suggestions):
        return f"They are of one {group.by}, but one of them may tell of two vehicles; look at that first."
    if len({key_of(walkaround.vehicle.vin) for walkaround in walkarounds} - {""}) > 1:
        return f"They are of one {group.by}, but different VINs were said; say whether it is one vehicle."
    if len({part.said_plate for part in group.parts} - {""}) > 1:
        return f"They are of one {group.by}, but different plates were said; say whether it is one vehicle."
    moments = [_moment(part) for part in group.parts]
    if max(moments) - min(moments) > ONE_VISIT_S:
        return f"They are of one {group.by}, but were recorded on different days; say whether they belong together."
    return ""


def _moment(part: Part) -> float:
    """When it was recorded, seconds: as its file was last written."""
    return min(item.written_ns for item in part.items) / 1e9


def _join(store: Store, steps: Steps, group: Group) -> None:
    """Make one walkaround of several, two by two; each step is whole, and can be undone on the page."""
    first = group.parts[0].held
    for part in group.parts[1:]:
        for round_ in count(1):
            try:
                first = _join_two(store, steps, first, part.held)
                break
            except ConflictError:
                if round_ == MOST_ROUNDS:
                    raise
                first = read_walkaround(store, first.id)


def _join_two(store: Store, steps: Steps, first: Held, second: Held) -> Held:
    """The words of both are read once more as one: what is said in one may be of what is said in the other."""
    recordings = (*first.walkaround.recordings, *_renamed(first.walkaround, second.walkaround.recordings))
    order = order_of(store, first.visit_id) if first.visit_id is not None else None
    found = steps.find(recordings, order=order)
    previous = previous_walkaround(store, first.id) if first.vehicle_id is not None else None
    if previous:
        found = steps.compare(found, order=order, previous=previous)
    # Nobody has decided on a finding of either, so their ids mean nothing to anyone yet.
    after = found.model_copy(update={"id": first.id, "recordings": recordings})

    def make(now_first: Walkaround, now_second: Walkaround) -> Walkaround:
        if (now_first, now_second) != (first.walkaround, second.walkaround):
            message = f"{first.id} or {second.id} was changed meanwhile; put them together on the page."
            raise ConflictError(message)
        return after

    return join_walkarounds(store, first.id, second.id, who=WHO, make=make)


def _renamed(first: Walkaround, recordings: Sequence[Recording]) -> Iterator[Recording]:
    used = max([first.ids_used.get("r", 0), *(int(each.id[1:]) for each in first.recordings)])
    for number, each in enumerate(recordings, used + 1):
        yield each.model_copy(update={"id": f"r{number}"})
