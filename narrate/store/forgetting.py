"""Forgetting: what a plan names is erased, whole records one by one, and then the files nobody needs any more.

The names of files to delete are written down before the tables forget them, so that a program that ends in between
leaves nothing behind: whoever forgets next deletes them first.
"""

import json
import os
import secrets
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any, TypeVar

from sqlalchemy import Connection, func, select

from narrate.errors import MissingError, StoreError, UsageError
from narrate.store.attachments import place_of
from narrate.store.capture_ends import erase_captures, files_of_captures
from narrate.store.engine import Store
from narrate.store.erasing import (
    erase_customers,
    erase_estimate,
    erase_jobs,
    erase_photos,
    erase_sound,
    erase_vehicles,
    erase_visits,
    erase_walkaround,
)
from narrate.store.events import append, read_events
from narrate.store.forget_plan import Chosen, Plan, What, of_customer, of_vehicles, of_walkaround, plan_chosen
from narrate.store.keeping import event_body, row_of
from narrate.store.recordings import file_of
from narrate.store.tables import attachment, customer, recording, vehicle, walkaround
from narrate.store.undoing import FORGOTTEN
from narrate.store.vehicles import key_of

Item = TypeVar("Item")
STREAM = "forgetting"
LIST = "forgetting-*.json"
"""Files of the data folder that name files to be deleted."""
AT_ONCE = 50
"""Recordings that are forgotten in one transaction: others want to write, too."""


def plan_customer(store: Store, named: str, what: Sequence[What]) -> Plan:
    """Plan to forget a customer, by number or by the whole name.

    Raises MissingError where there is none, UsageError where several bear the name.
    """
    with store.reading() as connection:
        return plan_chosen(connection, of_customer(connection, customer_named(connection, named)), what)


def plan_vehicle(store: Store, named: str, what: Sequence[What]) -> Plan:
    """Plan to forget a vehicle, by VIN or plate. Raises MissingError where nothing is known of one."""
    with store.reading() as connection:
        return plan_chosen(connection, vehicle_named(connection, named), what)


def plan_walkaround(store: Store, id_: str, what: Sequence[What]) -> Plan:
    """Plan to forget a walkaround, `w7`. Raises MissingError."""
    number = row_of(id_)
    with store.reading() as connection:
        if connection.scalar(select(walkaround.c.id).where(walkaround.c.id == number)) is None:
            message = f"There is no walkaround {id_!r} in the store."
            raise MissingError(message)
        return plan_chosen(connection, of_walkaround(number), what)


def customer_named(connection: Connection, named: str) -> int:
    """Return the number of a customer, given by number or by the whole name."""
    named = named.strip()
    if named.isascii() and named.isdigit() and len(named) < 10:
        found = list(connection.scalars(select(customer.c.id).where(customer.c.id == int(named))))
    else:
        asked = select(customer.c.id).where(func.lower(customer.c.name) == named.lower()).order_by(customer.c.id)
        found = list(connection.scalars(asked))
    if not found:
        message = f"There is no customer {named!r} in the store; give the whole name, or the customer's number."
        raise MissingError(message)
    if len(found) > 1:
        numbers = ", ".join(map(str, found))
        message = f"Several customers are called {named!r}; give the number of one of them: {numbers}."
        raise UsageError(message)
    return int(found[0])


def vehicle_named(connection: Connection, named: str) -> Chosen:
    """Return everything of the vehicle with this VIN or plate; of every one that bore the plate."""
    key = key_of(named)
    if not key:
        message = f"{named!r} is neither a VIN nor a plate; give one of them."
        raise UsageError(message)
    by_vin = set(connection.scalars(select(vehicle.c.id).where(vehicle.c.vin == key)))
    by_plate = set(connection.scalars(select(vehicle.c.id).where(vehicle.c.plate_key == key)))
    chosen = of_vehicles(connection, by_vin or by_plate, vin=key, plate=key)
    if not (chosen.vehicles or chosen.walkarounds):
        message = f"Nothing in the store is about a vehicle {named!r}; give its whole VIN or plate."
        raise MissingError(message)
    return chosen


def forget(store: Store, plan: Plan, *, who: str) -> None:
    """Erase what a plan names. Each record goes whole or not at all; `narrate doctor` stays content throughout.

    Raises StoreError where a file cannot be deleted; asking again goes on where it ended.
    """
    finish_forgetting(store)
    if plan.is_empty:
        return
    why = plan.why
    with _for_good(store) as connection:
        erase_jobs(connection, plan.jobs)
        erase_captures(connection, plan.captures)
        written = _write_down(store, files_of_captures(store, plan.captures))
    if written:
        _delete(store, written)
    for digests in _parts(plan.recordings):
        _forget_files(store, plan, digests, (), who)
    for cuts in _parts(plan.cuts):
        _forget_files(store, plan, (), cuts, who)
    for photos in _parts(plan.photos):
        with _for_good(store) as connection:
            places = _attached_files(store, connection, photos)
            erase_photos(connection, photos)
            written = _write_down(store, places)
        _delete(store, written)
    for number in plan.walkarounds:
        with _for_good(store) as connection:
            erase_walkaround(connection, number, who=who, why=why)
    for number in plan.estimates:
        with _for_good(store) as connection:
            erase_estimate(connection, number, who=who, why=why)
    with _for_good(store) as connection:
        gone = {
            "visits": erase_visits(connection, plan.visits, who=who, why=why),
            "vehicles": erase_vehicles(connection, plan.vehicles, who=who, why=why),
            "customers": erase_customers(connection, plan.customers, asked=plan.asked, who=who, why=why),
        }
        kinds = ("recordings", "captures", "cuts", "photos", "walkarounds", "estimates")
        counts = {kind: len(getattr(plan, kind)) for kind in kinds} | gone
        more: dict[str, Any] = {
            "what": list(plan.what),
            "counts": {key: count for key, count in counts.items() if count},
        }
        if plan.recordings:
            more["recordings"] = list(plan.recordings)
        append(connection, stream=STREAM, who=who, what=FORGOTTEN, body=event_body(why=why, more=more))
    _clean(store)


def finish_forgetting(store: Store) -> int:
    """Delete the files that an interrupted forgetting left behind; return how many lists of them there were."""
    lists = sorted(store.folder.glob(LIST))
    for written in lists:
        _delete(store, written)
    return len(lists)


def sweep(store: Store) -> int:
    """Delete recordings in this data folder that were forgotten on another machine; return how many."""
    swept = 0
    for event in read_events(store, STREAM):
        for sha256 in event.more.get("recordings", ()):
            for path in (store.folder / "audio" / sha256[:2]).glob(f"{sha256}*"):
                with store.writing() as connection:
                    kept = select(recording.c.sha256).where(recording.c.sha256 == sha256)
                    if connection.execute(kept).first() is None:
                        path.unlink(missing_ok=True)
                        swept += 1
    return swept


def is_unfinished(store: Store) -> bool:
    """Whether an interrupted forgetting left files behind."""
    return any(store.folder.glob(LIST))


def _forget_files(store: Store, plan: Plan, digests: Sequence[str], cuts: Sequence[int], who: str) -> None:
    with _for_good(store) as connection:
        asked = select(recording.c.sha256, recording.c.suffix).where(recording.c.sha256.in_(digests))
        places = [file_of(store, row.sha256, row.suffix) for row in connection.execute(asked)]
        places += _attached_files(store, connection, cuts)
        erase_sound(connection, digests, cuts, who=who, why=plan.why)
        written = _write_down(store, places)
    _delete(store, written)


def _attached_files(store: Store, connection: Connection, numbers: Sequence[int]) -> list[Path]:
    asked = select(attachment.c.sha256, attachment.c.suffix).where(attachment.c.id.in_(numbers))
    return [place_of(store, row.sha256, row.suffix) for row in connection.execute(asked)]


def _write_down(store: Store, places: Sequence[Path]) -> Path | None:
    """Write the names of files down, safely on disk, and return where."""
    if not places:
        return None
    written = store.folder / LIST.replace("*", secrets.token_hex(8))
    names = [place.relative_to(store.folder).as_posix() for place in places]
    try:
        with written.open("x", encoding="utf-8") as file:
            json.dump(names, file)
            file.flush()
            os.fsync(file.fileno())
    except OSError as error:
        with suppress(OSError):
            written.unlink()
        message = f"Nothing was forgotten: {written} cannot be written ({error.strerror}); check the data folder."
        raise StoreError(message) from error
    return written


def _delete(store: Store, written: Path | None) -> None:
    """Delete the files of a list, but for those that a row speaks of (again), and then the list."""
    if written is None:
        return
    try:
        names = json.loads(written.read_text("utf-8"))
        for name in names:
            digest = Path(name).name[:64]
            # Under the writer's lock, so that nobody keeps the same file anew while it is deleted.
            with store.writing() as connection:
                there = [select(table.c.sha256).where(table.c.sha256 == digest) for table in (recording, attachment)]
                if not any(connection.execute(each).first() for each in there):
                    (store.folder / name).unlink(missing_ok=True)
        written.unlink(missing_ok=True)
    except (OSError, ValueError) as error:
        reason = error.strerror if isinstance(error, OSError) else "its list cannot be read"
        message = f"Files that were forgotten are still there ({reason}); see to {written}, and forget again."
        raise StoreError(message) from error


@contextmanager
def _for_good(store: Store) -> Iterator[Connection]:
    """A writing connection that leaves nothing of what it erases in the database file."""
    with store.writing() as connection:
        if store.engine.dialect.name == "sqlite":
            connection.exec_driver_sql("PRAGMA secure_delete = ON")
        yield connection


def _clean(store: Store) -> None:
    """Take what was erased out of the log beside the database too, as far as nobody is reading."""
    if store.engine.dialect.name == "sqlite":
        with store.engine.connect() as connection:
            raw = connection.connection.driver_connection
            if raw is not None:
                raw.execute("PRAGMA wal_checkpoint(TRUNCATE)").fetchall()


def _parts(things: Iterable[Item]) -> Iterator[tuple[Item, ...]]:
    """Give AT_ONCE of them at a time."""
    left = tuple(things)
    for first in range(0, len(left), AT_ONCE):
        yield left[first : first + AT_ONCE]
