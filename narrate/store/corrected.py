"""What people correct: told by the events of walkarounds, leaving out what was undone."""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

from narrate.records.event import Change, Event
from narrate.store.engine import Store
from narrate.store.events import every_event

NOT_CORRECTIONS = frozenset(("heard", "confirm", "undo", "redo", "sign", "reopen"))
"""What happens to findings without anything in them being wrong."""
OF_A_FINDING = (
    "component",
    "locations",
    "status",
    "conditions",
    "recommendation",
    "measurements",
    "position",
    "codes",
    "tests",
    "reason",
    "consequence",
    "part_options",
    "quoted_prices",
    "urgency",
    "answers",
)
ADDED, DROPPED = "added", "dropped"


@dataclass(frozen=True, kw_only=True)
class Corrected:
    """How often a field of a component's findings was corrected. `field` may be `added` or `dropped` too."""

    field: str
    component: str
    """Its id, as it was first taken."""
    times: int


def what_is_corrected(store: Store, *, limit: int = 20) -> tuple[Corrected, ...]:
    """What is corrected most often, over all walkarounds."""
    with store.reading() as connection:
        counts: Counter[tuple[str, str]] = Counter(count_corrections(every_event(connection, streams="walkaround/")))
    most = sorted(counts.items(), key=lambda item: (-item[1], item[0]))[:limit]
    return tuple(Corrected(field=field, component=component, times=times) for (field, component), times in most)


def count_corrections(events: Iterable[Event]) -> Iterator[tuple[str, str]]:
    """Every (field, component) corrected by events that stand: not undone, or done again."""
    kept: dict[int, Event] = {}
    standing: dict[int, bool] = {}
    for event in events:
        if event.what in ("undo", "redo") and event.reverses is not None:
            standing[event.reverses] = event.what == "redo"
        elif event.what not in NOT_CORRECTIONS and event.changes:
            kept[event.number] = event
    for number, event in kept.items():
        if standing.get(number, True):
            yield from (told for change in event.changes if change.kind == "findings" for told in _told(change))


def _told(change: Change) -> Iterator[tuple[str, str]]:
    before: dict[str, Any] | None = change.before if isinstance(change.before, dict) else None
    after: dict[str, Any] | None = change.after if isinstance(change.after, dict) else None
    if after is None:
        return
    state = (after.get("review") or {}).get("state")
    if before is None:
        if state == ADDED:
            yield ADDED, after["component"]["id"]
        return
    if state == DROPPED and (before.get("review") or {}).get("state") != DROPPED:
        yield DROPPED, before["component"]["id"]
        return
    if state not in ("corrected", "added"):
        # What judging changes by itself is nobody's correction.
        return
    for field in OF_A_FINDING:
        if _core(before.get(field)) != _core(after.get(field)):
            yield field, before["component"]["id"]


def _core(value: Any) -> Any:  # noqa: ANN401 - a field of any kind, as JSON
    """A field without what judging adds to it: verdicts, links and urgencies that follow from rules."""
    if isinstance(value, list):
        return [_core(each) for each in value if not (isinstance(each, dict) and each.get("link") == "suggested")]
    if isinstance(value, dict):
        if value.get("origin") == "rule":
            return _core(value.get("said"))
        return {key: _core(each) for key, each in value.items() if key not in ("verdict", "shop_verdict")}
    return value
