"""All that the store holds about one customer or one vehicle, as a zip that people and programs can read."""

import csv
import io
import json
import tempfile
import zipfile
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, select

from narrate.atomic import written_whole
from narrate.errors import StoreError, UsageError
from narrate.export.csv_file import text_of_cell, write_csv
from narrate.export.cut_out import cut_spans, without_cuts
from narrate.export.estimate_lines import estimate_json, lines_csv
from narrate.hear.clips import write_silenced
from narrate.records.estimate import Estimate
from narrate.store.attachments import place_of
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.erasing import is_live
from narrate.store.estimate_tables import estimate
from narrate.store.events import append, events_of
from narrate.store.exporting_begun import told_apart, write_begun
from narrate.store.forget_plan import Chosen, of_customer
from narrate.store.forgetting import customer_named, vehicle_named
from narrate.store.keeping import event_body, read_within
from narrate.store.recordings import file_of
from narrate.store.tables import attachment, customer, heard, recording, vehicle, visit

README = """What the shop keeps about {about}, as of {at}.

orders.csv, vehicles.csv, customers.csv: what was written down.
walkarounds/w*/: what was found (findings.csv), the whole record (walkaround.json) and its history (history.json).
estimates/e*/: what was offered and answered (estimate.csv, estimate.json, history.json).
recordings/: the original recordings; where words were cut out in review, a copy that is silent there.
attachments/: photos, stills and clips.
not in a list/: what was recorded for an order and became no list yet, and photos that belong to no finding yet.
"""


@dataclass(frozen=True, kw_only=True)
class Exported:
    """How many of each are in the archive."""

    orders: int
    walkarounds: int
    estimates: int
    recordings: int


def export_customer(store: Store, named: str, file: Path, *, who: str) -> Exported:
    """Write all about a customer, by number or whole name, to `file`; an event says so.

    Raises MissingError or UsageError where it is not clear who is meant, UsageError where `file` is there already,
    StoreError where it cannot be written.
    """
    with store.reading() as connection:
        chosen = of_customer(connection, customer_named(connection, named))
    return _export(store, chosen, file, who=who)


def export_vehicle(store: Store, named: str, file: Path, *, who: str) -> Exported:
    """Write all about a vehicle, by VIN or plate, to `file`, as `export_customer` does.

    Whoever brought it is in it too: it is not for those who own the vehicle later.
    """
    with store.reading() as connection:
        chosen = vehicle_named(connection, named)
    return _export(store, chosen, file, who=who)


def _export(store: Store, chosen: Chosen, file: Path, *, who: str) -> Exported:
    if file.exists():
        message = f"{file} is there already; give it another name."
        raise UsageError(message)
    try:
        with (
            written_whole(file, mode=0o600) as stream,
            zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive,
            store.reading() as connection,
        ):
            made = _write(store, connection, chosen, archive)
    except OSError as error:
        message = f"{file} cannot be written ({error.strerror}); check the folder and its space."
        raise StoreError(message) from error
    with store.writing() as connection:
        told = {"orders": made.orders, "walkarounds": made.walkarounds, "estimates": made.estimates}
        append(connection, stream="exports", who=who, what="exported", body=event_body(why=chosen.why, more=told))
    return made


def _write(store: Store, connection: Connection, chosen: Chosen, archive: zipfile.ZipFile) -> Exported:
    archive.writestr("READ ME.txt", README.format(about=chosen.why, at=now()))
    customers = set(chosen.customers) | _of(connection, visit, visit.c.customer_id, chosen.visits)
    for name, table, numbers in (
        ("orders", visit, chosen.visits),
        ("vehicles", vehicle, chosen.vehicles),
        ("customers", customer, customers),
    ):
        archive.writestr(f"{name}.csv", _rows(connection, table, numbers))
    walkarounds = sorted(chosen.walkarounds)
    for number in walkarounds:
        _walkaround(connection, number, archive)
    asked = select(estimate).where(estimate.c.walkaround_id.in_(walkarounds), is_live(estimate))
    estimates = connection.execute(asked.order_by(estimate.c.id)).all()
    for row in estimates:
        read = Estimate.model_validate_json(row.record)
        folder = f"estimates/e{row.id}"
        archive.writestr(f"{folder}/estimate.json", estimate_json(read))
        archive.writestr(f"{folder}/estimate.csv", lines_csv(read))
        archive.writestr(f"{folder}/history.json", _history(connection, f"estimate/{row.id}"))
    recordings = _files(store, connection, walkarounds, archive)
    recordings += write_begun(store, connection, chosen.visits, archive)
    return Exported(
        orders=len(chosen.visits), walkarounds=len(walkarounds), estimates=len(estimates), recordings=recordings
    )


def _of(connection: Connection, table: Table, column: Any, numbers: Iterable[int]) -> set[int]:  # noqa: ANN401
    asked = select(column).where(table.c.id.in_(numbers), column.is_not(None))
    return set(connection.scalars(asked))


def _rows(connection: Connection, table: Table, numbers: Iterable[int]) -> str:
    """Rows of a table as CSV; an order's record is a column of its own for each of its fields."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    columns = [column.name for column in table.columns if column.name not in ("record", "plate_key")]
    rows = connection.execute(select(table).where(table.c.id.in_(numbers)).order_by(table.c.id)).mappings().all()
    told = [json.loads(row["record"]) if "record" in row else {} for row in rows]
    fields = [field for field in (told[0] if told else ()) if field not in columns]
    writer.writerow([*columns, *fields])
    for row, record in zip(rows, told, strict=True):
        writer.writerow(
            [text_of_cell(_cell(value)) for value in [*(row[c] for c in columns), *map(record.get, fields)]]
        )
    return stream.getvalue()


def _cell(value: object) -> str | None:
    if isinstance(value, list | dict):
        return json.dumps(value, ensure_ascii=False)
    return None if value is None else str(value)


def _walkaround(connection: Connection, number: int, archive: zipfile.ZipFile) -> None:
    whole = read_within(connection, f"w{number}").walkaround
    folder = f"walkarounds/w{number}"
    read = without_cuts(whole)
    archive.writestr(f"{folder}/walkaround.json", read.model_dump_json(by_alias=True, indent=2))
    with tempfile.TemporaryDirectory(prefix="narrate-") as place:
        findings = Path(place) / "findings.csv"
        write_csv(read, findings)
        archive.write(findings, f"{folder}/findings.csv")
    # What happened is told without what it said where words are cut out: earlier events hold them.
    history = _history(connection, f"walkaround/{number}", bare=read is not whole)
    archive.writestr(f"{folder}/history.json", history)


def _history(connection: Connection, stream: str, *, bare: bool = False) -> str:
    only = {"number", "at", "who", "what"} if bare else None
    events = [event.model_dump(mode="json", include=only, exclude_none=True) for event in events_of(connection, stream)]
    return json.dumps(events, ensure_ascii=False, indent=1)


def _silent(connection: Connection, walkarounds: list[int]) -> dict[str, list[tuple[float, float]]]:
    """Where recordings are to be silent, by their sha256."""
    spans: dict[str, list[tuple[float, float]]] = {}
    for number in walkarounds:
        read = read_within(connection, f"w{number}").walkaround
        for each in read.recordings:
            cut = cut_spans(read, each.id)
            if each.sha256 and cut:
                spans.setdefault(each.sha256, []).extend(cut)
    return spans


def _files(store: Store, connection: Connection, walkarounds: list[int], archive: zipfile.ZipFile) -> int:
    """Put recordings and attachments in under names that people can tell apart; return how many recordings."""
    of_them = select(recording).join(heard, heard.c.sha256 == recording.c.sha256)
    rows = connection.execute(of_them.where(heard.c.walkaround_id.in_(walkarounds)).distinct()).all()
    silent = _silent(connection, walkarounds)
    number = 0
    for row in rows:
        path = file_of(store, row.sha256, row.suffix)
        if path.is_file():
            number += 1
            told = f"recordings/{told_apart(row.sha256, row.name)}"
            # Sound is compressed already.
            if row.sha256 not in silent:
                archive.write(path, f"{told}{row.suffix}", zipfile.ZIP_STORED)
                continue
            with tempfile.TemporaryDirectory(prefix="narrate-") as place:
                write_silenced(path, Path(place) / "cut.ogg", silent[row.sha256])
                archive.write(Path(place) / "cut.ogg", f"{told}, cut.ogg", zipfile.ZIP_STORED)
    mine = select(attachment).where(attachment.c.walkaround_id.in_(walkarounds)).order_by(attachment.c.id)
    for row in connection.execute(mine):
        path = place_of(store, row.sha256, row.suffix)
        if path.is_file():
            archive.write(path, f"attachments/w{row.walkaround_id} a{row.id}{row.suffix}", zipfile.ZIP_STORED)
    return number
