"""Case: a narration and the findings a careful advisor would write down (`narrate.case/1`)."""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BeforeValidator, ConfigDict, Field

from narrate.records.base import Written
from narrate.records.walkaround import Status

PartOption = Literal["new", "used", "rebuilt", "reconditioned", "original_maker", "other_maker"]


def _listed(value: object) -> object:
    return [value] if isinstance(value, str) else value


class Expected(Written):
    """One finding owed. A list gives every acceptable answer; None or a missing key is not scored."""

    component: tuple[str, ...]
    locations: tuple[tuple[str, ...], ...] | None = None
    status: Status | None = None
    conditions: tuple[str, ...] | None = None
    actions: tuple[str, ...] | None = None
    """Empty: no action may be given."""
    measurements: tuple[tuple[str, ...], ...] = ()
    """(value, unit) or (value, unit, location) each."""
    not_measured: tuple[str | tuple[str, ...], ...] = ()
    """Values that may not appear, each alone or as (value, unit)."""
    prices: tuple[tuple[Decimal, str], ...] = ()
    codes: tuple[str, ...] = ()
    answers: Annotated[tuple[str, ...], BeforeValidator(_listed)] = ()
    """Concerns of the case; one alone may stand without its list."""
    reason: tuple[str, ...] = ()
    """Acceptable wordings, as said, of why it is so; like the next three, one of them is owed."""
    consequence: tuple[str, ...] = ()
    timing: tuple[str, ...] = ()
    """When it should be done; `done`: it has been."""
    while_open: tuple[str, ...] = ()
    """What the work should wait for, or be done along with."""
    tests: tuple[str, ...] = ()
    """How it was tested, as said: every one is owed."""
    part_options: tuple[PartOption, ...] = ()
    """Every one is owed."""
    urgency: Literal["before_driving", "this_visit", "by_date_or_distance", "no_hurry"] | None = None
    optional: bool = False


class VehicleSaid(Written):
    """What was said of the vehicle."""

    year: int | None = None
    make: str | None = None
    model: str | None = None


class Case(Written):
    """What was said, the concerns and findings in it, and what may not be found."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True)

    schema_: Literal["narrate.case/1"] = Field(alias="schema")
    id: str
    origin: Literal["independent", "heard", "made up", "must stay quiet", "known failure"]
    style: str | None = None
    drive_side: Literal["left", "right"] = "left"
    market: Literal["us", "gb", "eu"] = "us"
    said: str
    order_number: str | None = None
    plate: str | None = None
    odometer: tuple[Decimal, Literal["mi", "km"]] | None = None
    vehicle: VehicleSaid = VehicleSaid()
    technician: str | None = None
    second_vehicle: str | None = None
    """The first words of the talk about a second vehicle."""
    concerns: tuple[str, ...] = ()
    must_not: tuple[str, ...] = ()
    finding: tuple[Expected, ...] = ()


class CaseList(Written):
    """Several cases in one file, as `[[case]]`."""

    case: tuple[Case, ...] = Field(min_length=1)
