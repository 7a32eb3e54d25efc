"""Case: a narration and the findings a careful advisor would write down (`narrate.case/1`)."""

from decimal import Decimal
from typing import Literal

from pydantic import ConfigDict, Field

from narrate.records.base import Written
from narrate.records.walkaround import Status


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
    answers: tuple[str, ...] = ()
    optional: bool = False


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
    concerns: tuple[str, ...] = ()
    must_not: tuple[str, ...] = ()
    finding: tuple[Expected, ...] = ()
