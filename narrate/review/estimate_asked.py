"""What the page of an estimate asks to be changed, read strictly: one model for each value of `do`.

Amounts come as text, so that no cent is lost on the way.
"""

from collections.abc import Mapping
from typing import Annotated, Any, Literal, TypeVar

from pydantic import Field, StringConstraints, TypeAdapter, ValidationError

from narrate.errors import UsageError
from narrate.records.base import Written
from narrate.review.corrections.asked_fields import MOST, Id, Text

Read = TypeVar("Read")
Amount = Annotated[str, StringConstraints(max_length=20, pattern=r"^\d+(\.\d+)?$")]
Day = Annotated[str, StringConstraints(pattern=r"^\d{4}-\d{2}-\d{2}$")]
PartIs = Literal["new", "used", "rebuilt", "reconditioned"]
Maker = Literal["original_maker", "other_maker"]
OldParts = Literal["asked_back", "not_asked_back", "not_stated"]
Payer = Literal["customer", "warranty", "fleet"]


class LineTo(Written):
    """A line that is put in."""

    kind: Literal["labor", "part", "fluid", "sublet", "core"]
    text: Text
    quantity: Amount
    unit: Annotated[str, StringConstraints(min_length=1, max_length=12)]
    unit_price: Amount
    part_is: PartIs | None = None
    part_maker: Maker | None = None
    part_number: Text | None = None


class AskLine(Written):
    """One value of one line."""

    do: Literal["line"]
    line: Id
    field: Literal["quantity", "unit_price", "text"]
    to: Text
    seen: str


class AskAddLine(Written):
    """A line more in one way of a job."""

    do: Literal["add_line"]
    job: Id
    choice: Id
    line: LineTo


class AskRemoveLine(Written):
    """A line less; `seen` is its amount."""

    do: Literal["remove_line"]
    line: Id
    seen: str


class AskChoose(Written):
    """The way that counts."""

    do: Literal["choose"]
    job: Id
    to: Id
    seen: Id | None


class AskAddJob(Written):
    """A job made by hand, with its first line."""

    do: Literal["add_job"]
    title: Text
    line: LineTo


class AskRemoveJob(Written):
    """A job taken out; `seen` is its state."""

    do: Literal["remove_job"]
    job: Id
    why: Text
    seen: str


class AskRename(Written):
    """A job's title in other words."""

    do: Literal["rename"]
    job: Id
    to: Text
    seen: str


class AskOrder(Written):
    """The jobs in another order."""

    do: Literal["order"]
    to: Annotated[tuple[Id, ...], Field(max_length=MOST)]
    seen: Annotated[tuple[Id, ...], Field(max_length=MOST)]


class AskPayer(Written):
    """Who pays a job, under which number."""

    do: Literal["payer"]
    job: Id
    to: Payer
    order: Text | None
    seen: Payer


class AskDiscount(Written):
    """A discount on the whole, with its reason."""

    do: Literal["discount"]
    to: Amount
    why: Text | None
    seen: str


class AskDeposit(Written):
    """What was paid already."""

    do: Literal["deposit"]
    to: Amount
    seen: str


class AskExpires(Written):
    """The last day on which the prices hold."""

    do: Literal["expires"]
    to: Day | None
    seen: str | None


class AskTaxExempt(Written):
    """Why no tax is due."""

    do: Literal["tax_exempt"]
    to: Text | None
    seen: str | None


class AskPromised(Written):
    """When it will be done."""

    do: Literal["promised"]
    to: Annotated[str, StringConstraints(max_length=25, pattern=r"^\d{4}-\d{2}-\d{2}(T\d{2}:\d{2}.*)?$")] | None
    seen: str | None


class AskOldParts(Written):
    """Whether the customer wants the replaced parts back."""

    do: Literal["old_parts"]
    to: OldParts
    seen: OldParts


class AskPrice(Written):
    """A price for what the book has none for; `keep`: in the book too."""

    do: Literal["price"]
    thing: Id
    hours: Amount | None = None
    rate: Amount | None = None
    part: Text | None = None
    part_price: Amount | None = None
    part_quantity: Amount = "1"
    part_is: PartIs = "new"
    part_maker: Maker | None = None
    part_number: Text | None = None
    sublet: Amount | None = None
    keep: bool = False


class AskOutcome(Written):
    """What came of a job on the car."""

    do: Literal["outcome"]
    job: Id
    what: Literal["done", "not_needed", "found_worse", "part_ordered", "part_here"]
    note: Text | None = None
    promised: Day | None = None


class AnswerTo(Written):
    """What the customer says to one job."""

    state: Literal["authorized", "declined", "decide_by"]
    choice: Id | None = None
    decide_by_date: Day | None = None
    amount: str | None = None
    """What the page showed it as, so that nobody agrees to another price."""


class AskAnswer(Written):
    """What the customer says to the whole."""

    who: Text
    how: Literal["telephone", "in_person", "paper"]
    number: Text | None = None
    words: Text | None = None
    read_back: bool = False
    answers: Annotated[dict[Id, AnswerTo], Field(max_length=MOST)]
    total: str | None = None
    """What the page told to be read back."""
    attachment: Id | None = None
    """The photographed sheet, where it was signed on paper."""


JobAsked = AskChoose | AskAddJob | AskRemoveJob | AskRename | AskOrder | AskPayer | AskOutcome
WholeAsked = AskDiscount | AskDeposit | AskExpires | AskTaxExempt | AskPromised | AskOldParts
LineAsked = AskLine | AskAddLine | AskRemoveLine
EstimateAsked = JobAsked | WholeAsked | LineAsked | AskPrice
_ASKED: TypeAdapter[EstimateAsked] = TypeAdapter(
    Annotated[
        AskLine
        | AskAddLine
        | AskRemoveLine
        | AskChoose
        | AskAddJob
        | AskRemoveJob
        | AskRename
        | AskOrder
        | AskPayer
        | AskDiscount
        | AskDeposit
        | AskExpires
        | AskTaxExempt
        | AskPromised
        | AskOldParts
        | AskPrice
        | AskOutcome,
        Field(discriminator="do"),
    ]
)
_ANSWER: TypeAdapter[AskAnswer] = TypeAdapter(AskAnswer)


def parse_change(asked: Mapping[str, Any]) -> EstimateAsked:
    """The change that is asked. Raises UsageError with one sentence on the first thing that is wrong."""
    return _parsed(_ASKED, asked)


def parse_answer(asked: Mapping[str, Any]) -> AskAnswer:
    """The customer's answer as the page sends it. Raises UsageError."""
    return _parsed(_ANSWER, asked)


def _parsed(adapter: TypeAdapter[Read], asked: Mapping[str, Any]) -> Read:
    try:
        return adapter.validate_python(asked)
    except ValidationError as error:
        first = error.errors(include_url=False, include_input=False)[0]
        place = ".".join(str(part) for part in first["loc"]) or "do"
        told = first["msg"].removeprefix("Value error, ").rstrip(".")
        message = f"This change cannot be made: {place}: {told}; load the page again and try once more."
        raise UsageError(message) from error
