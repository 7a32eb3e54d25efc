"""Read lexicon/rules/places.toml: what each place wants on a written estimate, and how far a bill may go beyond it."""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from functools import lru_cache
from pathlib import Path
from typing import Literal, Self

from pydantic import Field, ValidationError, model_validator

from narrate.errors import LexiconError
from narrate.records.base import Written
from narrate.settings import project_folder
from narrate.words.rule_entries import How

FILE = "places.toml"
UNKNOWN = "unknown"
REQUIRED = (
    "shop_registration", "shop_name", "shop_address", "shop_phone", "customer_name", "customer_contact",
    "date", "time", "year", "make", "model", "plate_or_vin", "odometer", "promised", "complaint",
    "job_description", "part_description", "part_quantity", "part_price", "part_condition", "part_maker",
    "labor_basis", "labor_hours", "labor_rate", "labor_amount", "sublet", "supplies", "taxes", "total",
    "estimate_fee", "old_parts", "authorization",
)  # fmt: skip
"""Every field that some place requires, in the order of a document."""


class Overrun(Written):
    """How far a bill may go beyond what was authorized; without numbers: not at all."""

    percent: Decimal | None = Field(default=None, gt=0, le=100)
    amount: Decimal | None = Field(default=None, gt=0)
    whichever: Literal["greater", "less"] | None = None
    at_most: Decimal | None = Field(default=None, gt=0)
    words: str
    source: str
    how: How

    @model_validator(mode="after")
    def _says_which(self) -> Self:
        if (self.whichever is None) != (self.percent is None or self.amount is None):
            message = "`whichever` stands where both `percent` and `amount` do, and nowhere else"
            raise ValueError(message)
        return self


class Statement(Written):
    """Words to be printed on the estimate."""

    text: str = Field(min_length=1)
    source: str
    how: How


class PlaceEntry(Written):
    """One place of the file."""

    name: str
    required: tuple[str, ...]
    statement: tuple[Statement, ...] = ()
    overrun: Overrun
    source: str
    read_on: date
    how: How

    @model_validator(mode="after")
    def _known(self) -> Self:
        unknown = [each for each in self.required if each not in REQUIRED]
        if unknown:
            message = f"no field is called {', '.join(unknown)}"
            raise ValueError(message)
        return self


class PlacesFile(Written):
    """places.toml"""

    schema_: Literal["narrate.rules/1"] = Field(alias="schema")
    place: dict[str, PlaceEntry]


@dataclass(frozen=True, slots=True)
class PlaceRules:
    """What holds at one place."""

    key: str
    name: str
    required: tuple[str, ...]
    """Of REQUIRED, in its order."""
    statements: tuple[str, ...]
    """To be printed as they are."""
    overrun: Overrun
    source: str
    read_on: date
    how: How
    statement_sources: tuple[str, ...] = ()
    """Beside each statement."""


@lru_cache(maxsize=2)
def load_places(folder: Path | None = None) -> Mapping[str, PlaceRules]:
    """The places of a folder of rules, or of narrate's own, by key.

    Raises LexiconError naming every mistake with its key path.
    """
    path = (folder or project_folder("lexicon") / "rules") / FILE
    try:
        written = PlacesFile.model_validate(tomllib.loads(path.read_text("utf-8")))
    except OSError as error:
        raise LexiconError((f"rules/{FILE}: the file is missing",)) from error
    except ValidationError as error:
        problems = (
            f"rules/{FILE}: {'.'.join(map(str, each['loc']))}: {each['msg'].removeprefix('Value error, ')}"
            for each in error.errors()
        )
        raise LexiconError(tuple(problems)) from error
    except ValueError as error:  # not UTF-8, or not TOML
        raise LexiconError((f"rules/{FILE}: not valid TOML: {error}",)) from error
    if UNKNOWN not in written.place:
        raise LexiconError((f"rules/{FILE}: place: '{UNKNOWN}' is missing",))
    return {key: _rules(key, entry) for key, entry in written.place.items()}


def place_rules(place: str, folder: Path | None = None) -> PlaceRules:
    """The rules of a place, written `us-fl`, `US_FL` or `FL`; those of `unknown`, the superset, for any other.

    >>> place_rules("FL").name, place_rules("us").key
    ('Florida', 'unknown')
    """
    places = load_places(folder)
    key = place.strip().casefold().replace("_", "-")
    return places.get(key) or places.get(f"us-{key}") or places[UNKNOWN]


def _rules(key: str, entry: PlaceEntry) -> PlaceRules:
    return PlaceRules(
        key=key,
        name=entry.name,
        required=tuple(each for each in REQUIRED if each in entry.required),
        statements=tuple(each.text for each in entry.statement),
        overrun=entry.overrun,
        source=entry.source,
        read_on=entry.read_on,
        how=entry.how,
        statement_sources=tuple(f"{each.source} ({each.how})" for each in entry.statement),
    )
