"""Which order a recording belongs to: by what is said in it, and by what its file and folder are called.

Sure is only what leaves one answer; all else is offered to a person and never guessed.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import PurePosixPath

from narrate.records.order import Order
from narrate.records.walkaround import Walkaround
from narrate.store.open_orders import OpenOrder
from narrate.store.vehicles import key_of

BY_NAME = "narrate day"
"""Who puts recordings in line for the order that their files are called by."""
SHORTEST_NUMBER = 3
"""An order number of fewer characters may stand in a file's name by chance."""
SHORTEST_PLATE = 5
"""A plate of fewer letters and digits may be another one's end."""
LONGEST_RUN = 4
"""So many pieces of a name may make one number or plate: "AB 12 CDE"."""
COUNTERS = frozenset(
    ("aud", "audio", "clip", "dsc", "file", "img", "memo", "mov", "mvi", "new", "note", "rec", "recording", "sound",
     "track", "vid", "video", "voice", "wa")
)  # fmt: skip
"""Words in front of numbers that recorders and phones count by themselves."""
_DATE = re.compile(r"(?:19|20)\d\d[-_. ]?[01]\d[-_. ]?[0-3]\d|(?<!\d)[0-2]?\d[.:h-][0-5]\d(?:[.:m-][0-5]\d)?(?!\d)")
_THEN_TIME = re.compile(r"(?:19|20)\d\d[-_.]?[01]\d[-_.]?[0-3]\d[-_ T]+([0-2]\d[0-5]\d)(?!\d)")
_TIME = re.compile(r"(?<=[-_ T])[0-2]\d[0-5]\d[0-5]\d(?!\d)")


@dataclass(frozen=True, kw_only=True)
class Tie:
    """The order a recording surely belongs to, or why that cannot be told: a sentence, empty where nothing fits."""

    visit_id: int | None = None
    why: str = ""
    offered: tuple[int, ...] = ()
    """Orders (visits) that a person may choose from."""


NONE = Tie()


def said_tie(walkaround: Walkaround, orders: Sequence[OpenOrder]) -> Tie:
    """The order that is named in the recording, by its number or by the whole plate."""
    number, plate = key_of(walkaround.order_number), key_of(walkaround.vehicle.plate)
    by_number = [each for each in orders if number and each.number_key == number]
    by_plate = [each for each in orders if len(plate) >= SHORTEST_PLATE and each.plate_key == plate]
    if len(by_number) == 1:
        return _beside_plate(by_number[0], plate, by_plate)
    if number and by_plate:
        why = f"It says order {walkaround.order_number}, but the plate is that of {_named(by_plate)}; choose its order."
        return Tie(why=why, offered=_ids(by_plate))
    if len(by_plate) > 1:
        return Tie(why=f"Its plate fits {_named(by_plate)}; choose its order.", offered=_ids(by_plate))
    if number and orders:
        return Tie(why=f"It says order {walkaround.order_number}, and there is no such order open; choose its order.")
    return Tie(visit_id=by_plate[0].visit_id) if by_plate else NONE


def named_tie(name: PurePosixPath, orders: Sequence[OpenOrder]) -> Tie:
    """The order that a file is called after, or else the folder it lies in; the nearest name that fits counts."""
    for part in (name.stem, *(folder.name for folder in name.parents if folder.name)):
        found = _fitting(part, orders)
        if len(found) == 1:
            if counted(part) or found[0].number_key in _THEN_TIME.findall(part):
                why = f"'{part}' may mean order {found[0].number}, or a number or time that the recorder put; choose."
                return Tie(why=why, offered=_ids(found))
            return Tie(visit_id=found[0].visit_id)
        if found:
            return Tie(why=f"'{part}' fits {_named(found)}; choose its order.", offered=_ids(found))
    return NONE


def contradicted(walkaround: Walkaround, order: Order, orders: Sequence[OpenOrder]) -> bool:
    """Whether another open order's number is said in a recording that is called by this one's."""
    said = key_of(said_number(walkaround))
    return said not in ("", key_of(order.number)) and any(each.number_key == said for each in orders)


def said_number(walkaround: Walkaround) -> str | None:
    """The order number that was said, whatever the order's own is."""
    return next((each.value for each in walkaround.heading if each.field == "order_number"), None)


def keys_in(part: str) -> frozenset[str]:
    """Return what may be a number or a plate in a name: each piece, and pieces in a row, as `key_of` writes them.

    Dates and times of day are left out.

    >>> sorted(keys_in("RO-1042 2026-11-27"))
    ['1042', 'RO', 'RO1042']
    """
    found: set[str] = set()
    for stretch in re.split("\0", _TIME.sub("\0", _DATE.sub("\0", part))):
        pieces = re.findall(r"[^\W_]+", stretch)
        for first in range(len(pieces)):
            for end in range(first + 1, min(first + LONGEST_RUN, len(pieces)) + 1):
                found.add(key_of("".join(pieces[first:end])))
    return frozenset(found)


def counted(part: str) -> bool:
    """Whether the number in a name is one that a recorder counts: "Recording 1042", "VID_0042"."""
    words = [word.lower() for word in re.findall(r"[^\W\d_]+", part)]
    return bool(words) and all(word in COUNTERS for word in words)


def _fitting(part: str, orders: Sequence[OpenOrder]) -> list[OpenOrder]:
    keys = keys_in(part)
    by_number = [e for e in orders if len(e.number_key) >= SHORTEST_NUMBER and e.number_key in keys]
    return by_number or [e for e in orders if len(e.plate_key) >= SHORTEST_PLATE and e.plate_key in keys]


def _beside_plate(order: OpenOrder, plate: str, by_plate: Sequence[OpenOrder]) -> Tie:
    """The order of the number said, unless the plate said is that of another order."""
    others = [each for each in by_plate if each.visit_id != order.visit_id]
    if plate and plate != order.plate_key and others:
        both = [order, *others]
        return Tie(why=f"Its number and its plate are of two orders, {_named(both)}; choose.", offered=_ids(both))
    return Tie(visit_id=order.visit_id)


def _ids(orders: Sequence[OpenOrder]) -> tuple[int, ...]:
    return tuple(each.visit_id for each in orders)


def _named(orders: Sequence[OpenOrder]) -> str:
    names = [f"order {each.number}" if each.number else "an order without a number" for each in orders]
    return " and ".join(names)
