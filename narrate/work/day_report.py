"""What became of a day's recordings: the record `narrate.day/1`, with what the advisor should know first."""

from collections.abc import Iterable, Mapping, Sequence

from narrate.judge.unsettled import what_blocks
from narrate.records.day import Day, DayDoubt, DayItem, DayMatter
from narrate.records.walkaround import Finding, Walkaround
from narrate.store.day_jobs import Place, places
from narrate.store.engine import Store
from narrate.store.listed import vehicle_text
from narrate.store.open_orders import OpenOrder, open_orders
from narrate.store.walkarounds import read_walkaround
from narrate.work.day_intake import Intake, Item
from narrate.work.day_ties import named_tie, said_tie
from narrate.work.day_together import Group, Part

WAITS = "It is in line and not heard yet; run this again."
STOPPED = "It was stopped on the page of recordings; try it again there."
GROWS = "It is still being written; run this again when it has been copied whole."


def parts_of(store: Store, items: Iterable[Item]) -> tuple[Part, ...]:
    """Return the walkarounds that the recordings of a folder are in, without those set aside."""
    found: dict[str, list[Item]] = {}
    by_digest = {item.sha256: item for item in items}
    for sha256, place in places(store, by_digest).items():
        if place.walkaround and not place.set_aside:
            found.setdefault(place.walkaround, []).append(by_digest[sha256])
    return tuple(Part(held=read_walkaround(store, id_), items=tuple(of)) for id_, of in found.items())


def report(store: Store, intake: Intake, *, growing: Iterable[str] = (), apart: Sequence[Group] = ()) -> Day:
    """Return what became of everything in the folder. `apart`: what may belong together and was not put together."""
    items = list(intake.items.values())
    standing = places(store, intake.items)
    parts = parts_of(store, items)
    lists = _sorted(items, standing, parts)
    failed = [*lists["failed"], *(DayItem(name=str(n), sha256="", why=why) for n, why in intake.troubles.items())]
    failed += [DayItem(name=name, sha256="", why=GROWS) for name in growing]
    orders = open_orders(store)
    return Day(
        done=tuple(lists["done"]),
        failed=tuple(failed),
        set_aside=tuple(lists["set_aside"]),
        doubtful=(*_apart(apart), *_without_order(store, parts, orders)),
        open_concerns=tuple(each for part in parts for each in _concerns(part.held.walkaround)),
        decide_first=tuple(each for part in parts for each in _first(part.held.walkaround)),
        to_settle={part.held.id: len(what_blocks(part.held.walkaround)) for part in parts},
    )


def _sorted(items: Iterable[Item], standing: Mapping[str, Place], parts: Iterable[Part]) -> dict[str, list[DayItem]]:
    together = {part.held.id: [str(item.name) for item in part.items] for part in parts}
    lists: dict[str, list[DayItem]] = {"done": [], "failed": [], "set_aside": []}
    for item in items:
        place = standing[item.sha256]
        told = {"name": str(item.name), "sha256": item.sha256, "walkaround_id": place.walkaround}
        why, job = [], place.job
        if place.walkaround:
            kind = "done"
            others = [name for name in together.get(place.walkaround, ()) if name != str(item.name)]
            why += [f"Put together with {', '.join(others)}."] if others else []
            why += ["Its walk-round was set aside by a person."] if place.set_aside else []
        elif place.given_up or (job and job.state == "stopped"):
            kind = "set_aside"
            why.append(STOPPED if job and job.state == "stopped" else job.why if job else "")
        else:
            kind = "failed"
            why.append(job.why if job and job.state == "failed" else WAITS)
        why += [f"The same recording lies there as {', '.join(map(str, item.also))}."] if item.also else []
        lists[kind].append(DayItem.model_validate({**told, "why": " ".join(why)}))
    return lists


def _apart(groups: Iterable[Group]) -> Iterable[DayDoubt]:
    for group in groups:
        names = tuple(str(item.name) for part in group.parts for item in part.items)
        yield DayDoubt(names=names, walkaround_ids=tuple(part.held.id for part in group.parts), why=group.why)


def _without_order(store: Store, parts: Iterable[Part], orders: Sequence[OpenOrder]) -> Iterable[DayDoubt]:
    """Recordings whose order is not sure: as said, else as the file is called."""
    numbers = {each.visit_id: each.number for each in orders}
    for part in parts:
        if part.held.visit_id is not None:
            continue
        ties = [said_tie(part.held.walkaround, orders), *(named_tie(item.name, orders) for item in part.items)]
        told = {tie.visit_id for tie in ties if tie.visit_id is not None}
        unsure = next((tie for tie in ties if tie.why), None)
        offered = unsure.offered if unsure else tuple(sorted(told))
        why = unsure.why if unsure else ""
        if len(told) > 1:
            why, offered = "What is said and what it is called by are different orders; choose its order.", tuple(told)
        elif told and not unsure:
            why = "It was heard before there was this order; say whether it is of it."
        if why:
            names = tuple(str(item.name) for item in part.items)
            of = tuple(number for each in offered if (number := numbers[each]))
            yield DayDoubt(names=names, walkaround_ids=(part.held.id,), orders=tuple(sorted(of)), why=why)


def _concerns(walkaround: Walkaround) -> Iterable[DayMatter]:
    for each in what_blocks(walkaround):
        if each.kind == "concern":
            yield DayMatter(walkaround_id=walkaround.id, of=_of(walkaround), about=each.about, text=each.text)


def _first(walkaround: Walkaround) -> Iterable[DayMatter]:
    """What comes before all else: a vehicle that must not be driven, and what was said two ways."""
    blocks = what_blocks(walkaround)
    waiting = {each.about for each in blocks if each.kind == "finding"}
    for finding in walkaround.findings:
        if finding.id in waiting and finding.urgency and finding.urgency.when == "before_driving":
            yield DayMatter(walkaround_id=walkaround.id, of=_of(walkaround), about=finding.id, text=_urgent(finding))
    for each in blocks:
        if each.kind == "contradiction":
            yield DayMatter(walkaround_id=walkaround.id, of=_of(walkaround), about=each.about, text=each.text)


def _of(walkaround: Walkaround) -> str:
    number = f"order {walkaround.order_number}" if walkaround.order_number else None
    return ", ".join(each for each in (number, walkaround.vehicle.plate, vehicle_text(walkaround)) if each)


def _urgent(finding: Finding) -> str:
    places = f" ({', '.join(finding.locations)})" if finding.locations else ""
    conditions = ", ".join(each.name for each in finding.conditions)
    return f"{finding.component.name}{places}{': ' if conditions else ''}{conditions}; before the vehicle is driven."
