"""Estimate: what the work would cost, line by line, and what the customer said to it (`narrate.estimate/1`)."""

from decimal import Decimal
from typing import Any, Literal

from pydantic import ConfigDict, Field, computed_field, model_validator

from narrate.records.base import Kept
from narrate.records.price_book import Fee, Minimum, Supplies, TaxRule

SCHEMA: Literal["narrate.estimate/1"] = "narrate.estimate/1"

LineKind = Literal["labor", "part", "fluid", "sublet", "core", "supplies", "fee", "discount"]
JobState = Literal["offered", "authorized", "declined", "decide_by"]
Payer = Literal["customer", "warranty", "fleet"]
Basis = Literal["line", "document"]
Rounding = Literal["half_up", "half_even", "down"]


class Line(Kept):
    """One line: quantity times unit price, rounded half up to the currency's smallest unit, is `amount`."""

    id: str = ""
    """`n1`, …; no other line of the estimate has it."""
    kind: LineKind
    text: str
    quantity: Decimal
    unit: str
    """`h`, `each`, `l`, `qt`, …"""
    unit_price: Decimal
    amount: Decimal
    taxable: bool
    tax_category: str | None = None
    """The book's tax category; None: the kind."""
    part_number: str | None = None
    part_is: str | None = None
    """`new`, `used`, `rebuilt`, `reconditioned`; of parts."""
    part_maker: str | None = None
    """`original_maker`, `other_maker`; of parts."""
    row: str | None = None
    """Key of the price book's row it comes from; None: filled in by hand."""
    note: str | None = None
    """What should be known beside it: overlapping labor taken off, a minimum charge, why a discount."""
    component: str | None = None
    """What a part is, as the lexicon has it: fees for each piece are counted by it."""
    alone: Decimal | None = None
    """Hours without the other work that some were taken off for; None: nothing was taken off."""
    together_with: tuple[str, ...] = ()
    """The jobs it overlaps with."""


class Choice(Kept):
    """One way to do a job, with all its lines. `spoken`: the price the technician said for it."""

    id: str
    label: str
    lines: tuple[Line, ...]
    spoken: Decimal | None = None
    subtotal: Decimal = Decimal(0)


class Job(Kept):
    """Work that is offered as one, answered as one."""

    id: str
    title: str
    finding_ids: tuple[str, ...] = ()
    component: str | None = None
    action: str | None = None
    locations: tuple[str, ...] = ()
    requires: tuple[str, ...] = ()
    """Jobs without which it cannot be done; authorizing it asks for them too."""
    optional: bool = False
    """Suggested with other work, not found wanting."""
    payer: Payer = "customer"
    payer_order: str | None = None
    """The number under which a warranty or a fleet pays."""
    state: JobState = "offered"
    decide_by_date: str | None = None
    chosen: str | None = None
    choices: tuple[Choice, ...]
    added_later: bool = False
    """Found after the estimate was first authorized: needs a consent of its own."""
    why: str | None = None
    """How it was matched, for who asks."""
    doubts: tuple[str, ...] = ()
    """Guesses to be looked at: one sentence each."""
    operation: str | None = None
    """Key of the book's operation; None: made by hand."""


class ToBePriced(Kept):
    """Work that the book has no price for: named, never zero."""

    id: str = ""
    """`p1`, …"""
    finding_ids: tuple[str, ...] = ()
    title: str
    why: str
    component: str | None = None
    action: str | None = None
    locations: tuple[str, ...] = ()


class TaxLine(Kept):
    """One tax: rate in percent, on what, and how much."""

    name: str
    rate: Decimal
    base: Decimal
    amount: Decimal


class Totals(Kept):
    """What the lines of each job's chosen way come to; `total` = the rest summed, the discount taken off."""

    parts: Decimal = Decimal(0)
    labor: Decimal = Decimal(0)
    fluids: Decimal = Decimal(0)
    sublet: Decimal = Decimal(0)
    supplies: Decimal = Decimal(0)
    fees: Decimal = Decimal(0)
    discount: Decimal = Decimal(0)
    """Positive; taken off."""
    tax: Decimal = Decimal(0)
    total: Decimal = Decimal(0)
    deposit: Decimal = Decimal(0)
    """Paid already; `total` is before it."""
    taxes: tuple[TaxLine, ...] = Field(default=(), exclude=True)
    lines: tuple[Line, ...] = Field(default=(), exclude=True)
    """What belongs to no one job: supplies, fees, the least that is charged. Counted above already.

    Amounts alone stand in the JSON of totals: these two are written beside them, of `totals` only (`Estimate.taxes`,
    `Estimate.lines`).
    """


class SumRules(Kept):
    """How the estimate is summed: copied from the book it was made with, so that it says itself how it was."""

    basis: Basis = "document"
    rounding: Rounding = "half_up"
    supplies: Supplies | None = None
    fees: tuple[Fee, ...] = ()
    taxes: tuple[TaxRule, ...] = ()
    minimums: tuple[Minimum, ...] = ()


class Consent(Kept):
    """One answer of the customer's, as it was given; a list of them is never rewritten."""

    at: str
    by: str
    """Who of the shop took it down."""
    who: str
    """Who answered."""
    how: Literal["telephone", "in_person", "paper", "link"]
    number: str | None = None
    """The number called, or where the link was sent."""
    words: str | None = None
    read_back: bool = False
    answers: dict[str, dict[str, Any]] = Field(default_factory=dict)
    """Job id -> {"state": …, "choice": …, "decide_by_date": …, "amount": …}"""
    total: Decimal
    """The total agreed, tax included."""
    document: str
    """sha256 of the very document that was read or shown."""
    attachment: str | None = None


class Outcome(Kept):
    """What came of a job on the car: done, not needed, found worse."""

    job: str
    at: str
    by: str
    what: Literal["done", "not_needed", "found_worse", "part_ordered", "part_here"]
    note: str | None = None
    promised: str | None = None


class Estimate(Kept):
    """Jobs with their lines and totals. An estimate with unreviewed findings is a draft and cannot be authorized."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True, serialize_by_alias=True)

    schema_: Literal["narrate.estimate/1"] = Field(default=SCHEMA, alias="schema")
    id: str = "e1"
    walkaround_id: str
    draft: bool
    currency: str
    """ISO 4217 code."""
    place: str
    """Whose rules hold: a key of lexicon/rules/places.toml."""
    made_at: str
    expires_on: str | None = None
    shop: dict[str, Any] = Field(default_factory=dict)
    customer: dict[str, Any] = Field(default_factory=dict)
    vehicle: dict[str, Any] = Field(default_factory=dict)
    order_number: str | None = None
    promised: str | None = None
    concerns: tuple[str, ...] = ()
    jobs: tuple[Job, ...] = ()
    totals: Totals = Totals()
    offered: Totals = Totals()
    """All jobs, whatever was answered; `totals` counts those not declined."""
    needed: Totals = Totals()
    """`totals` without optional jobs that nobody has authorized."""
    by_payer: dict[str, Totals] = Field(default_factory=dict)
    """`totals` for each payer's jobs by themselves; empty where the customer pays all."""
    rules: SumRules = SumRules()
    to_be_priced: tuple[ToBePriced, ...] = ()
    tax_exempt: str | None = None
    """Why no tax is due (number of the certificate)."""
    discount: Decimal = Decimal(0)
    discount_why: str | None = None
    deposit: Decimal = Decimal(0)
    old_parts: Literal["asked_back", "not_asked_back", "not_stated"] = "not_stated"
    consents: tuple[Consent, ...] = ()
    outcomes: tuple[Outcome, ...] = ()
    book: str | None = None
    """sha256 of the price book it was made with."""
    ids_used: dict[str, int] = Field(default_factory=dict)

    @computed_field  # type: ignore[prop-decorator]
    @property
    def taxes(self) -> tuple[TaxLine, ...]:
        """What each tax comes to in `totals`."""
        return self.totals.taxes

    @computed_field  # type: ignore[prop-decorator]
    @property
    def lines(self) -> tuple[Line, ...]:
        """What in `totals` belongs to no one job."""
        return self.totals.lines

    @model_validator(mode="before")
    @classmethod
    def _beside_the_totals(cls, read: object) -> object:
        """Put taxes and lines back into the totals beside which they are written."""
        if not isinstance(read, dict) or not {"taxes", "lines"} & set(read):
            return read
        told = {key: value for key, value in read.items() if key not in ("taxes", "lines")}
        beside = {key: read[key] for key in ("taxes", "lines") if key in read}
        totals = told.get("totals")
        plain = totals.model_dump() if isinstance(totals, Totals) else totals or {}
        return {**told, "totals": {**plain, **beside}} if isinstance(plain, dict) else told
