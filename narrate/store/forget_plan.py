"""What is to be forgotten: everything of a customer, of a vehicle or of one walkaround.

Nothing is erased here; `outdated.py` plans by age. A recording that another walkaround needs as well is kept, and
counted as such.
"""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from typing import Any, Literal, get_args

from sqlalchemy import ColumnElement, Connection, Select, Table, and_, or_, select

from narrate.records.estimate import Estimate
from narrate.store.capture_ends import captures_of
from narrate.store.erasing import is_live
from narrate.store.estimate_tables import estimate
from narrate.store.listed import letters_and_digits
from narrate.store.tables import attachment, heard, job, recording, vehicle, visit, walkaround

What = Literal["audio", "words", "estimates"]
ALL: tuple[What, ...] = get_args(What)
UNDER_WAY = ("waiting", "working")


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """Whose things are chosen, as numbers of rows. `asked`: a person or vehicle was named, and goes itself too."""

    why: str
    """What was asked for, without names: `customer 3`."""
    walkarounds: frozenset[int] = frozenset()
    visits: frozenset[int] = frozenset()
    vehicles: frozenset[int] = frozenset()
    customers: frozenset[int] = frozenset()
    asked: bool = False


@dataclass(frozen=True, kw_only=True)
class Plan:
    """What would be erased. Numbers are those of rows, `recordings` the sha256 of originals."""

    why: str
    what: tuple[What, ...]
    recordings: tuple[str, ...] = ()
    sound_bytes: int = 0
    sound_s: float = 0.0
    shared: tuple[str, ...] = ()
    """Recordings that stay, because another walkaround or a job needs them."""
    captures: tuple[str, ...] = ()
    """Keys of captures: pieces that were not joined yet, marks, photos that wait."""
    cuts: tuple[int, ...] = ()
    """Clips and stills cut from recordings."""
    photos: tuple[int, ...] = ()
    walkarounds: tuple[int, ...] = ()
    unsigned: int = 0
    """Of the walkarounds, those that nobody has signed."""
    estimates: tuple[int, ...] = ()
    answered: int = 0
    """Of the estimates, those that a customer has answered."""
    jobs: tuple[int, ...] = ()
    visits: tuple[int, ...] = ()
    vehicles: tuple[int, ...] = ()
    customers: tuple[int, ...] = ()
    asked: bool = field(default=False, repr=False)

    @property
    def is_empty(self) -> bool:
        """Whether there is nothing to erase."""
        kinds = (self.recordings, self.cuts, self.photos, self.walkarounds, self.estimates, self.visits, self.vehicles)
        return not any((*kinds, self.captures, self.customers))


def of_customer(connection: Connection, number: int) -> Chosen:
    """Everything of a customer: orders, their walkarounds, and vehicles that have no orders of anyone else."""
    visits = _numbers(connection, select(visit.c.id).where(visit.c.customer_id == number))
    vehicles = _numbers(connection, select(vehicle.c.id).where(vehicle.c.customer_id == number))
    vehicles |= _numbers(connection, select(visit.c.vehicle_id).where(visit.c.id.in_(visits)))
    others = select(visit.c.vehicle_id).where(visit.c.vehicle_id.in_(vehicles), visit.c.id.not_in(visits))
    alone = vehicles - _numbers(connection, others)
    unordered = and_(walkaround.c.vehicle_id.in_(alone), walkaround.c.visit_id.is_(None))
    walkarounds = _numbers(connection, select(walkaround.c.id).where(or_(walkaround.c.visit_id.in_(visits), unordered)))
    return Chosen(
        why=f"customer {number}",
        walkarounds=frozenset(walkarounds),
        visits=frozenset(visits),
        vehicles=frozenset(alone),
        customers=frozenset((number,)),
        asked=True,
    )


def of_vehicles(connection: Connection, numbers: Collection[int], *, vin: str = "", plate: str = "") -> Chosen:
    """Everything of vehicles, and of walkarounds linked to none in which this VIN or plate was said (as keys)."""
    visits = _numbers(connection, select(visit.c.id).where(visit.c.vehicle_id.in_(numbers)))
    mine = or_(walkaround.c.vehicle_id.in_(numbers), walkaround.c.visit_id.in_(visits))
    walkarounds = _numbers(connection, select(walkaround.c.id).where(mine))
    keys = {letters_and_digits(key) for key in (vin, plate)} - {""}
    loose = select(walkaround.c.id, walkaround.c.search).where(walkaround.c.vehicle_id.is_(None))
    for key in keys:
        # A line of the search text is a whole value; only one that is the very key is this vehicle's.
        rows = connection.execute(loose.where(walkaround.c.search.contains(key, autoescape=True)))
        walkarounds |= {row.id for row in rows if key in row.search.split("\n")}
    why = f"vehicle {', '.join(map(str, sorted(numbers)))}" if numbers else "a vehicle by what was said"
    return Chosen(
        why=why,
        walkarounds=frozenset(walkarounds),
        visits=frozenset(visits),
        vehicles=frozenset(numbers),
        asked=True,
    )


def of_walkaround(number: int) -> Chosen:
    """One walkaround; its order, vehicle and customer stay."""
    return Chosen(why=f"w{number}", walkarounds=frozenset((number,)), asked=True)


def plan_chosen(connection: Connection, chosen: Chosen, what: Sequence[What]) -> Plan:
    """Plan to erase what was chosen, of these kinds; with all of them orders, vehicles and customers too."""
    numbers = set(chosen.walkarounds)
    digests = _heard_in(connection, numbers) | _of_jobs(connection, chosen.visits, numbers)
    numbers |= _set_aside_with(connection, digests)
    jobs = _jobs_of(connection, chosen.visits, numbers)
    needed = _needed(connection, digests, but=numbers, but_jobs=jobs)
    whole = set(what) == set(ALL)
    estimates = live(connection, estimate, estimate.c.walkaround_id.in_(numbers)) if "estimates" in what else ()
    present = select(recording.c.sha256).where(recording.c.sha256.in_(digests))
    present_digests = set(connection.scalars(present))
    return counted(
        connection,
        Plan(
            why=chosen.why,
            what=tuple(what),
            recordings=tuple(sorted(present_digests - needed)) if "audio" in what else (),
            shared=tuple(sorted(present_digests & needed)) if "audio" in what else (),
            captures=captures_of(connection, jobs, chosen.visits, sound_only="words" not in what)
            if "words" in what or "audio" in what
            else (),
            cuts=_attached(connection, numbers, ("clip", "still")) if "audio" in what else (),
            photos=photos_of(connection, numbers, estimates) if "words" in what else (),
            walkarounds=live(connection, walkaround, walkaround.c.id.in_(numbers)) if "words" in what else (),
            estimates=estimates,
            jobs=tuple(sorted(jobs)) if "words" in what or "audio" in what else (),
            visits=tuple(sorted(chosen.visits)) if whole else (),
            vehicles=tuple(sorted(chosen.vehicles)) if whole else (),
            customers=tuple(sorted(chosen.customers)) if whole else (),
            asked=chosen.asked,
        ),
    )


def counted(connection: Connection, plan: Plan) -> Plan:
    """Return the plan with its figures."""
    asked = select(recording.c.bytes, recording.c.duration_s).where(recording.c.sha256.in_(plan.recordings))
    sizes = connection.execute(asked).all()
    unsigned = select(walkaround.c.id).where(walkaround.c.id.in_(plan.walkarounds), walkaround.c.state == "to_check")
    answered = select(estimate.c.id).where(estimate.c.id.in_(plan.estimates), estimate.c.state == "answered")
    figures = {
        "sound_bytes": sum(row.bytes for row in sizes),
        "sound_s": sum(row.duration_s or 0.0 for row in sizes),
        "unsigned": len(connection.execute(unsigned).all()),
        "answered": len(connection.execute(answered).all()),
    }
    return Plan(**{**{key: getattr(plan, key) for key in Plan.__dataclass_fields__}, **figures})


def _heard_in(connection: Connection, numbers: Collection[int]) -> set[str]:
    asked = select(heard.c.sha256).where(heard.c.walkaround_id.in_(numbers), heard.c.sha256.is_not(None))
    return set(connection.scalars(asked))


def _jobs_of(connection: Connection, visits: Collection[int], numbers: Collection[int]) -> set[int]:
    mine = or_(job.c.visit_id.in_(visits), job.c.walkaround_id.in_(numbers))
    return _numbers(connection, select(job.c.id).where(mine))


def _of_jobs(connection: Connection, visits: Collection[int], numbers: Collection[int]) -> set[str]:
    mine = or_(job.c.visit_id.in_(visits), job.c.walkaround_id.in_(numbers))
    return {digest for told in connection.scalars(select(job.c.recordings).where(mine)) for digest in json.loads(told)}


def of_jobs_under_way(connection: Connection, but: Collection[int] = ()) -> set[str]:
    """Return the recordings (sha256) that wait to be heard or are being heard."""
    waiting = select(job.c.recordings).where(job.c.state.in_(UNDER_WAY), job.c.id.not_in(but))
    return {digest for told in connection.scalars(waiting) for digest in json.loads(told)}


def _needed(
    connection: Connection, digests: Collection[str], *, but: Collection[int], but_jobs: Collection[int]
) -> set[str]:
    """Those recordings that another walkaround, or a job that is not over, needs."""
    elsewhere = select(heard.c.sha256).where(heard.c.sha256.in_(digests), heard.c.walkaround_id.not_in(but))
    return set(connection.scalars(elsewhere)) | (of_jobs_under_way(connection, but_jobs) & set(digests))


def _set_aside_with(connection: Connection, digests: Collection[str]) -> set[int]:
    """Walkarounds set aside (joined with another) that hold nothing but these recordings."""
    aside = select(heard.c.walkaround_id, heard.c.sha256).join(walkaround).where(walkaround.c.state == "set_aside")
    mine = _numbers(connection, select(heard.c.walkaround_id).where(heard.c.sha256.in_(digests)))
    of_each: dict[int, set[str | None]] = {}
    for row in connection.execute(aside.where(heard.c.walkaround_id.in_(mine))):
        of_each.setdefault(row.walkaround_id, set()).add(row.sha256)
    return {number for number, held in of_each.items() if held <= set(digests)}


def _attached(connection: Connection, numbers: Collection[int], kinds: Sequence[str]) -> tuple[int, ...]:
    mine = and_(attachment.c.walkaround_id.in_(numbers), attachment.c.kind.in_(kinds))
    return sorted_numbers(connection, select(attachment.c.id).where(mine))


def photos_of(connection: Connection, numbers: Collection[int], going: Collection[int]) -> tuple[int, ...]:
    """Return the photos of walkarounds, but not papers that an estimate which stays was answered on."""
    stays = and_(estimate.c.walkaround_id.in_(numbers), estimate.c.id.not_in(going), is_live(estimate))
    papers = {
        consent.attachment
        for record in connection.scalars(select(estimate.c.record).where(stays))
        for consent in Estimate.model_validate_json(record).consents
    }
    return tuple(each for each in _attached(connection, numbers, ("photo",)) if f"a{each}" not in papers)


def live(
    connection: Connection, table: Table, mine: ColumnElement[bool], *, most: int | None = None
) -> tuple[int, ...]:
    """Return the rows that nobody emptied yet; the oldest of them where `most` says how many."""
    return sorted_numbers(connection, select(table.c.id).where(mine, is_live(table)).order_by(table.c.id).limit(most))


def sorted_numbers(connection: Connection, asked: Select[tuple[int]]) -> tuple[int, ...]:
    """Return the answer in order."""
    return tuple(sorted(connection.scalars(asked)))


def _numbers(connection: Connection, asked: Select[Any]) -> set[int]:
    return {number for number in connection.scalars(asked) if number is not None}
