"""What the page asks to be changed of one finding, field by field; `seen` is what the page showed before."""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import BeforeValidator, Field, StringConstraints

from narrate.records.base import Written
from narrate.records.case import PartOption
from narrate.records.walkaround import Certainty, Status, When

MOST = 200
"""How long a list may be."""


def _one_line(value: object) -> object:
    if not isinstance(value, str):
        return value
    return " ".join("".join(c if c.isprintable() else " " for c in value).split())


Id = Annotated[str, StringConstraints(min_length=1, max_length=60)]
Line = Annotated[str, BeforeValidator(_one_line), StringConstraints(max_length=2000)]
"""Words without line breaks and control characters, which no database takes alike; may be empty."""
Text = Annotated[Line, StringConstraints(min_length=1)]
Place = Annotated[str, StringConstraints(max_length=60)]
Number = Annotated[Decimal, Field(allow_inf_nan=False, max_digits=15)]
Ids = Annotated[tuple[Id, ...], Field(max_length=MOST)]
Places = Annotated[tuple[Place, ...], Field(max_length=MOST)]


class ConditionTo(Written):
    """A condition by its id, and how surely it was said."""

    id: Id
    certainty: Certainty = "stated"


class RecommendationTo(Written):
    """What should be done; actions by their ids."""

    action: Id | None = None
    otherwise: Ids = ()
    timing: Text | None = None
    conditional_on: Text | None = None
    optional: bool = False


class MeasurementTo(Written):
    """A number with its unit. A `spoken_limit` that is left out stays as it was."""

    value: Number
    high: Number | None = None
    unit: Id
    quantity: Text | None = None
    about: bool = False
    location: Place | None = None
    spoken_limit: Number | None = None


class PriceTo(Written):
    """A price the technician spoke, and for which option."""

    amount: Annotated[Number, Field(ge=0, decimal_places=2)]
    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")]
    for_: str = Field(default="", alias="for", max_length=200)


class UrgencyTo(Written):
    """How soon."""

    when: When
    by: Text | None = None
    why: Text | None = None


class AskComponent(Written):
    """It is another part."""

    do: Literal["component"]
    finding: Id
    to: Id
    seen: Id


class AskLocations(Written):
    """It is at other places."""

    do: Literal["locations"]
    finding: Id
    to: Places
    seen: Places


class AskStatus(Written):
    """It is a fault, fine, …"""

    do: Literal["status"]
    finding: Id
    to: Status
    seen: Status


class AskConditions(Written):
    """Something else is wrong with it."""

    do: Literal["conditions"]
    finding: Id
    to: Annotated[tuple[ConditionTo, ...], Field(max_length=MOST)]
    seen: Ids


class AskRecommendation(Written):
    """Something else should be done; `seen` is the action that was shown."""

    do: Literal["recommendation"]
    finding: Id
    to: RecommendationTo
    seen: Id | None


class AskMeasurements(Written):
    """Its numbers, all of them; `seen` are the values that were shown."""

    do: Literal["measurements"]
    finding: Id
    to: Annotated[tuple[MeasurementTo, ...], Field(max_length=MOST)]
    seen: Annotated[tuple[Number, ...], Field(max_length=MOST)]


class AskWords(Written):
    """Free words of a finding."""

    do: Literal["words"]
    finding: Id
    field: Literal["position", "reason", "consequence"]
    to: Text | None
    seen: str | None


class AskLists(Written):
    """A list of a finding, all of it."""

    do: Literal["lists"]
    finding: Id
    field: Literal["codes", "tests", "attachments"]
    to: Annotated[tuple[Text, ...], Field(max_length=MOST)]
    seen: Annotated[tuple[str, ...], Field(max_length=MOST)]


class AskPartOptions(Written):
    """Which parts may be fitted."""

    do: Literal["lists"]
    finding: Id
    field: Literal["part_options"]
    to: Annotated[tuple[PartOption, ...], Field(max_length=MOST)]
    seen: Annotated[tuple[str, ...], Field(max_length=MOST)]


class AskPrices(Written):
    """The prices spoken, all of them; `seen` are the amounts that were shown."""

    do: Literal["prices"]
    finding: Id
    to: Annotated[tuple[PriceTo, ...], Field(max_length=MOST)]
    seen: Annotated[tuple[Number, ...], Field(max_length=MOST)]


class AskUrgency(Written):
    """How soon it is to be done; None leaves it to the rules."""

    do: Literal["urgency"]
    finding: Id
    to: UrgencyTo | None
    seen: When | None


class AskAnswers(Written):
    """The concerns that it answers, all of them: what a person names in `to` is no suggestion any more."""

    do: Literal["answers"]
    finding: Id
    to: Ids
    suggested: Ids = ()
    """Those that stay what they are, suggestions."""
    seen: Ids


ListAsked = Annotated[AskLists | AskPartOptions, Field(discriminator="field")]
FieldAsked = (
    AskComponent
    | AskLocations
    | AskStatus
    | AskConditions
    | AskRecommendation
    | AskMeasurements
    | AskWords
    | AskLists
    | AskPartOptions
    | AskPrices
    | AskUrgency
    | AskAnswers
)
"""One field of one finding."""
