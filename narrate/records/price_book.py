"""Price book: what the shop asks for labor, parts and fluids, and by which rules it sums (`narrate.book/1`)."""

from decimal import Decimal
from typing import Annotated, Literal

from pydantic import Field

from narrate.records.base import Written

Money = Annotated[Decimal, Field(ge=0, max_digits=12, decimal_places=4)]
Hours = Annotated[Decimal, Field(ge=0, le=200, decimal_places=2)]
Percent = Annotated[Decimal, Field(ge=0, le=100)]
Quantity = Annotated[Decimal, Field(gt=0, max_digits=12, decimal_places=4)]
Year = Annotated[int, Field(ge=1885, le=2200)]
Key = Annotated[str, Field(min_length=1, max_length=60, pattern=r"^[A-Za-z0-9][A-Za-z0-9_.-]*$")]


class Scope(Written):
    """Which vehicles a row is for; empty: all. The narrower row wins."""

    make: str | None = None
    model: str | None = None
    year_from: Year | None = None
    year_to: Year | None = None


class Operation(Written):
    """Work at one component: hours for each place, or for the axle together."""

    key: Key
    component: str
    """An id of the lexicon."""
    action: str
    """An id of lexicon/actions.toml."""
    locations: tuple[str, ...] = ()
    """Places it is for; empty: any."""
    per: Literal["place", "axle", "job"] = "place"
    """What the hours are for."""
    hours: Hours = Decimal(0)
    rate: str = "standard"
    """Name of a labor rate."""
    title: str | None = None
    overlaps: str | None = None
    """Group: done together with another of the group, `overlap_hours` are taken off once."""
    overlap_hours: Hours = Decimal(0)
    requires: tuple[Key, ...] = ()
    """Operations without which it is half a repair (an alignment after a tie rod)."""
    with_parts: tuple[str, ...] = ()
    """Other components whose parts go in with it, as `component` or `component*quantity`."""
    fluids: tuple[str, ...] = ()
    """`fluid key*quantity` each."""
    sublet: Money | None = None
    """Work sent out: its price, instead of hours."""
    tax_category: str | None = None
    """Whose tax rules hold for its labor; None: those of the line's kind."""
    scope: Scope = Scope()


class Part(Written):
    """A part for a component; price told, or cost with the markup of its range."""

    key: Key
    component: str
    locations: tuple[str, ...] = ()
    number: str | None = None
    text: str
    part_is: Literal["new", "used", "rebuilt", "reconditioned"] = "new"
    part_maker: Literal["original_maker", "other_maker"] | None = None
    per: Literal["place", "axle", "job"] = "place"
    """What one of it (a set of pads: an axle) is for."""
    cost: Money | None = None
    price: Money | None = None
    core: Money | None = None
    """Charged until the old part comes back."""
    quantity: Quantity = Decimal(1)
    tax_category: str | None = None
    """Whose tax rules hold for it; None: those of the line's kind."""
    scope: Scope = Scope()


class Fluid(Written):
    """A fluid by quantity."""

    key: Key
    text: str
    unit: str
    price: Money
    tax_category: str | None = None
    """Whose tax rules hold for it; None: those of the line's kind."""


class LaborRate(Written):
    """Price of an hour."""

    name: str
    price: Money


class Markup(Written):
    """Percent put on parts that cost from `cost_from` on."""

    cost_from: Money
    percent: Annotated[Decimal, Field(ge=0, le=1000)]


class Supplies(Written):
    """Shop supplies: percent of labor or of labor and parts, within bounds."""

    percent: Percent
    of: Literal["labor", "labor_and_parts"] = "labor"
    at_most: Money | None = None
    at_least: Money | None = None
    text: str = "Shop supplies"
    taxable: bool = True


class Fee(Written):
    """A fee on each document or for each piece of a component (disposal of tires)."""

    key: Key
    text: str
    price: Money
    per: Literal["document", "component"] = "document"
    component: str | None = None
    taxable: bool = False
    tax_category: str | None = None
    """Whose tax rules hold for it; None: those of the line's kind."""


class TaxRule(Written):
    """One tax in percent on categories of lines."""

    name: str
    percent: Percent
    on: tuple[str, ...]
    """Kinds of lines: `part`, `labor`, `fluid`, `supplies`, `fee`, `sublet`, `core`; or tax categories of the book."""


class Minimum(Written):
    """The least that is charged for labor of a job or of the document."""

    of: Literal["job", "document"]
    price: Money


class Book(Written):
    """The whole price book."""

    currency: Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
    place: str = "unknown"
    basis: Literal["line", "document"] = "document"
    """Whether tax is rounded for each line or once for the document."""
    rounding: Literal["half_up", "half_even", "down"] = "half_up"
    operations: tuple[Operation, ...] = ()
    parts: tuple[Part, ...] = ()
    fluids: tuple[Fluid, ...] = ()
    rates: tuple[LaborRate, ...] = ()
    markups: tuple[Markup, ...] = ()
    supplies: Supplies | None = None
    fees: tuple[Fee, ...] = ()
    taxes: tuple[TaxRule, ...] = ()
    minimums: tuple[Minimum, ...] = ()
    note: str | None = None
    """Whose figures these are, and since when; for people."""
    digest: str = ""
    """sha256 of what it was read from."""
