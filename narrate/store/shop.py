"""What the owner sets for the shop; every change of it is an event of the stream `shop`."""

import json
import os
from collections.abc import Callable, Mapping
from decimal import Decimal
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, ValidationError
from sqlalchemy import Connection, delete, select

from narrate.errors import UsageError
from narrate.records.base import Written
from narrate.records.event import Change
from narrate.settings import Settings
from narrate.store import events
from narrate.store.engine import Store
from narrate.store.tables import shop as table

STREAM = "shop"
Line = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=200)]
Lines = Annotated[str, StringConstraints(strip_whitespace=True, min_length=1, max_length=1000)]
FOR_WORK = ("market", "drive_side", "rule_set", "model")
"""What is also a key of the settings file; what is set here counts before it."""


Days = Annotated[int, Field(ge=1, le=36_500)]


class Retention(Written):
    """How many days things are kept from the day they came in, each kind by itself; None: until someone forgets them.

    `audio`: recordings, and clips and stills cut from them; `words`: what was heard and found, photos and orders, and
    with the last of them the vehicle and the customer; `estimates`: with what customers said to them.
    """

    audio: Days | None = None
    words: Days | None = None
    estimates: Days | None = None


class Shop(Written):
    """What a shop has set; None is not set. It is read strictly: an owner typed it."""

    name: Line | None = None
    address: Lines | None = None
    phone: Line | None = None
    email: Annotated[str, StringConstraints(strip_whitespace=True, pattern=r"^[^@\s]+@[^@\s]+$")] | None = None
    licenses: Lines | None = None
    """License and registration numbers that papers must bear, one a line."""
    market: Literal["us", "gb", "eu"] | None = None
    drive_side: Literal["left", "right"] | None = None
    rule_set: Line | None = None
    model: Line | None = None
    labor_rate: Annotated[Decimal, Field(ge=0, max_digits=9, decimal_places=2)] | None = None
    """An hour of labor, in `currency`."""
    currency: Annotated[str, StringConstraints(pattern="^[A-Z]{3}$")] | None = None
    """ISO 4217."""
    retention: Retention | None = None


def read_shop(store: Store) -> Shop:
    """What is set now."""
    with store.reading() as connection:
        return _read(connection)


def change_shop(
    store: Store, values: Mapping[str, object], *, who: str, check: Callable[[Shop], None] | None = None
) -> Shop:
    """Set what is given (None: set no longer); one event, and none where nothing changes.

    `check` may refuse the whole by raising UsageError, as a value of the wrong form does.
    """
    with store.writing() as connection:
        before = _read(connection)
        try:
            after = Shop.model_validate(before.model_dump() | dict(values))
        except ValidationError as error:
            problem = error.errors()[0]
            key = " ".join(str(part) for part in problem["loc"]).replace("_", " ")
            message = f"{key}: {problem['msg']}, not {problem['input']!r}; correct it."
            raise UsageError(message) from error
        if check:
            check(after)
        changes = _changes(before, after)
        if changes:
            _write(connection, changes)
            body = {"changes": [change.model_dump(mode="json") for change in changes]}
            events.append(connection, stream=STREAM, who=who, what="set", body=body)
        return after


def shop_settings(store: Store, settings: Settings) -> Settings:
    """The settings with the shop's market, drive side, rule set and model over them.

    A key that an environment variable gives stays as that says.
    """
    return laid_over(read_shop(store), settings)


def laid_over(shop: Shop, settings: Settings) -> Settings:
    """`shop_settings` of what was read already."""
    update = {key: getattr(shop, key) for key in FOR_WORK if not given_by_environment(key)}
    return settings.model_copy(update={key: value for key, value in update.items() if value is not None})


def given_by_environment(key: str) -> bool:
    """Whether an environment variable gives this key of the settings, as `settings.load_settings` reads them."""
    return bool(os.environ.get(f"NARRATE_{key.upper()}"))


def _read(connection: Connection) -> Shop:
    rows = {row.key: json.loads(row.value) for row in connection.execute(select(table))}
    # A key of a later program is none of ours.
    return Shop.model_validate({key: value for key, value in rows.items() if key in Shop.model_fields})


def _changes(before: Shop, after: Shop) -> list[Change]:
    old, new = (shop.model_dump(mode="json") for shop in (before, after))
    return [Change(kind=key, before=old[key], after=new[key]) for key in new if old[key] != new[key]]


def _write(connection: Connection, changes: list[Change]) -> None:
    connection.execute(delete(table).where(table.c.key.in_([change.kind for change in changes])))
    rows: list[dict[str, Any]] = [
        {"key": change.kind, "value": json.dumps(change.after, ensure_ascii=False)}
        for change in changes
        if change.after is not None
    ]
    if rows:
        connection.execute(table.insert(), rows)
