"""What the page asks to be changed, read strictly: one model for each value of `do`."""

from collections.abc import Mapping
from typing import Annotated, Any, Literal

from pydantic import Field, StringConstraints, TypeAdapter, ValidationError

from narrate.errors import UsageError
from narrate.records.base import Written
from narrate.records.walkaround import Status
from narrate.review.corrections.asked_fields import (
    MOST,
    AskAnswers,
    AskComponent,
    AskConditions,
    AskLocations,
    AskMeasurements,
    AskPrices,
    AskRecommendation,
    AskStatus,
    AskUrgency,
    AskWords,
    ConditionTo,
    FieldAsked,
    Id,
    Ids,
    Line,
    ListAsked,
    MeasurementTo,
    Number,
    Places,
    Text,
)


class EvidenceTo(Written):
    """Words of a recording as heard, both numbers inclusive."""

    recording: Id
    first_word: Annotated[int, Field(ge=0)]
    last_word: Annotated[int, Field(ge=0)]


class OdometerTo(Written):
    """Distance on the clock."""

    value: Annotated[Number, Field(ge=0)]
    unit: Literal["mi", "km"]


class AskConfirm(Written):
    """These findings are right as they stand."""

    do: Literal["confirm"]
    findings: Annotated[tuple[Id, ...], Field(min_length=1, max_length=MOST)]


class AskDrop(Written):
    """It is no finding; kept, with why."""

    do: Literal["drop"]
    finding: Id
    why: Text


class AskRestore(Written):
    """It is one after all."""

    do: Literal["restore"]
    finding: Id


class AskAdd(Written):
    """A finding that was not found."""

    do: Literal["add"]
    component: Id
    locations: Places = ()
    status: Status
    conditions: Annotated[tuple[ConditionTo, ...], Field(max_length=MOST)] = ()
    action: Id | None = None
    measurements: Annotated[tuple[MeasurementTo, ...], Field(max_length=MOST)] = ()
    evidence: EvidenceTo | None = None
    unplaced: Id | None = None
    """The words that fitted nowhere from which it is made."""
    suggestion: Id | None = None
    """What was suggested and is taken up."""


class AskSplit(Written):
    """It is two findings, at these places; with no places the second is a copy."""

    do: Literal["split"]
    finding: Id
    parts: Annotated[tuple[Places, ...], Field(min_length=2, max_length=2)]


class AskMerge(Written):
    """The two are one; the first stays."""

    do: Literal["merge"]
    findings: Annotated[tuple[Id, ...], Field(min_length=2, max_length=2)]


class AskDecide(Written):
    """What to make of something that is no finding; `decided` None takes a decision back."""

    do: Literal["decide"]
    about: Annotated[str, StringConstraints(min_length=1, max_length=400)]
    decided: Literal["settled", "not_looked_at", "nothing_in_it"] | None
    why: Text | None = None


class AskNothingIn(Written):
    """There is nothing in any of these words that fitted nowhere."""

    do: Literal["nothing_in"]
    unplaced: Annotated[Ids, Field(min_length=1)]


class AskConcern(Written):
    """Something the customer complains of that is not listed."""

    do: Literal["concern"]
    text: Text


class AskEdit(Written):
    """What was really said in place of these words as heard; empty takes them out."""

    do: Literal["edit"]
    recording: Id
    first_word: Annotated[int, Field(ge=0)]
    last_word: Annotated[int, Field(ge=0)]
    text: Line


class AskCutOut(Written):
    """These words (bystanders' talk) are to stay out of the list and of all that leaves the shop, sound and all."""

    do: Literal["cut_out"]
    recording: Id
    first_word: Annotated[int, Field(ge=0)]
    last_word: Annotated[int, Field(ge=0)]


class AskHead(Written):
    """A line about the job or the vehicle."""

    do: Literal["head"]
    field: Literal["order_number", "technician", "vin", "plate", "make", "model"]
    to: Text | None
    seen: str | None


class AskYear(Written):
    """The vehicle's year."""

    do: Literal["head"]
    field: Literal["year"]
    to: Annotated[int, Field(ge=1880, le=2200)] | None
    seen: int | None


class AskOdometer(Written):
    """Distance on the clock."""

    do: Literal["head"]
    field: Literal["odometer"]
    to: OdometerTo | None
    seen: OdometerTo | None


class AskSign(Written):
    """The list is right and whole."""

    do: Literal["sign"]


class AskReopen(Written):
    """A signed list is changed after all."""

    do: Literal["reopen"]


HeadAsked = AskHead | AskYear | AskOdometer
FindingAsked = AskConfirm | AskDrop | AskRestore | AskAdd | AskSplit | AskMerge
AroundAsked = AskDecide | AskNothingIn | AskConcern | AskSign | AskReopen
WordsAsked = AskEdit | AskCutOut
"""What has the rest found again."""
Asked = FieldAsked | HeadAsked | FindingAsked | AroundAsked | WordsAsked
_ASKED: TypeAdapter[Asked] = TypeAdapter(
    Annotated[
        AskConfirm
        | AskComponent
        | AskLocations
        | AskStatus
        | AskConditions
        | AskRecommendation
        | AskMeasurements
        | AskWords
        | ListAsked
        | AskPrices
        | AskUrgency
        | AskAnswers
        | AskDrop
        | AskRestore
        | AskAdd
        | AskSplit
        | AskMerge
        | AskDecide
        | AskNothingIn
        | AskConcern
        | AskEdit
        | AskCutOut
        | Annotated[HeadAsked, Field(discriminator="field")]
        | AskSign
        | AskReopen,
        Field(discriminator="do"),
    ]
)


def parse(asked: Mapping[str, Any] | str | bytes) -> Asked:
    """What is asked, from the JSON that the page sends or what it stands for.

    Raises UsageError with one sentence on the first thing that is wrong with it.
    """
    try:
        return _ASKED.validate_json(asked) if isinstance(asked, str | bytes) else _ASKED.validate_python(asked)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(str(part) for part in first["loc"]) or "do"
        told = first["msg"].removeprefix("Value error, ").rstrip(".")
        message = f"This correction cannot be made: {place}: {told}; load the page again and try once more."
        raise UsageError(message) from error
