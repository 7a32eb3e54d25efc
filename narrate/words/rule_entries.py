"""The shape of lexicon/rules/, key by key: what findings are judged by, each number with its source."""

from decimal import Decimal
from typing import Literal, Self

from pydantic import Field, model_validator

from narrate.records.base import Written
from narrate.records.walkaround import Certainty, When
from narrate.words.entries import ConditionClass, Id, Phrase, Place, Safety

Schema = Literal["narrate.rules/1"]
How = Literal["read", "read at second hand", "from memory", "common practice"]
"""How the words of a source were come by; `common practice` has none."""
Broken = Literal["at_limit", "below", "above"]
NO_SOURCE = "common practice, no source"
SHOP = "shop"
"""The rule set of the shop's own numbers, which stand beside every other."""


class RuleSet(Written):
    """Limits that belong together: a law, or the shop's own."""

    name: str
    market: Literal["us", "gb", "eu"] | None = None
    """The market that it is taken for where nobody chose another."""


class Bound(Written):
    """The least or the most that a quantity of some parts may be."""

    components: tuple[Id, ...]
    quantity: Phrase
    least: Decimal | None = None
    most: Decimal | None = None
    unit: str

    @model_validator(mode="after")
    def _one_number(self) -> Self:
        if (self.least is None) == (self.most is None):
            message = "give either least or most"
            raise ValueError(message)
        return self


class Limit(Bound):
    """One number of one rule set."""

    rule_set: Id
    places: tuple[Place, ...] = ()
    """Only parts there; everywhere when empty."""
    source: str
    clause: str = ""
    how: How
    note: str = ""

    @model_validator(mode="after")
    def _sourced(self) -> Self:
        if not self.source.strip():
            message = "a limit needs a source"
            raise ValueError(message)
        return self


class Spread(Written):
    """How far the two sides of an axle, or two edges, may lie apart before somebody should ask why."""

    components: tuple[Id, ...]
    quantity: Phrase
    most: Decimal
    unit: str
    text: str
    source: str = NO_SOURCE


class LimitsFile(Written):
    """limits.toml"""

    schema_: Schema = Field(alias="schema")
    rule_set: dict[Id, RuleSet]
    limit: tuple[Limit, ...]
    spread: tuple[Spread, ...] = ()


class Job(Written):
    """What is usually done together with a piece of work."""

    components: tuple[Id, ...]
    """The parts that are worked on."""
    actions: tuple[Id, ...] = ("replace",)
    """What is done to them."""
    places: tuple[Place, ...] = ()
    """Only there; everywhere when empty."""
    pair: bool = False
    """The same work on the other side of the axle."""
    parts: tuple[Id, ...] = ()
    """Parts that are suggested: anything said of one of them there keeps it quiet."""
    unless_said: tuple[Phrase, ...] = ()
    """Words that keep it quiet wherever they are said; `bleed*` is any word that begins so."""
    text: str
    """What to tell: "fit new pad hardware with the pads"."""
    source: str = NO_SOURCE


class GoesWithFile(Written):
    """goes_with.toml"""

    schema_: Schema = Field(alias="schema")
    job: dict[Id, Job]


class Item(Written):
    """One thing that a full inspection looks at."""

    heading: str
    name: Phrase
    components: tuple[Id, ...]
    """Anything said of one of these, or of a part of one, touches it."""
    source: str


class InspectionFile(Written):
    """inspection.toml"""

    schema_: Schema = Field(alias="schema")
    item: dict[Id, Item]


class UrgencyRule(Written):
    """How soon; every key that is given must hold, and the first rule that holds decides."""

    when: When
    safety: tuple[Safety, ...] = ()
    components: tuple[Id, ...] = ()
    conditions: tuple[Id, ...] = ()
    classes: tuple[ConditionClass, ...] = ()
    certainty: tuple[Certainty, ...] = ("stated",)
    """Of the conditions; nothing asked where no condition is."""
    results: tuple[Broken, ...] = ()
    """Of a number against a limit of a law or of the technician's own words."""
    shop_results: tuple[Broken, ...] = ()
    """Of a number against the shop's own limit."""
    actions: tuple[Id, ...] = ()
    why: str
    """One sentence; `{part}` is the part's name, `{condition}` what is wrong, `{limit}` the limit."""


class UrgencyFile(Written):
    """urgency.toml"""

    schema_: Schema = Field(alias="schema")
    rule: dict[Id, UrgencyRule]


class Plain(Written):
    """Words for the customer about a kind of part, or about a class of condition."""

    text: str
    source: str = NO_SOURCE


class PlainFile(Written):
    """plain_words.toml"""

    schema_: Schema = Field(alias="schema")
    system: dict[Id, Plain]
    """Why the part matters, by vehicle system."""
    kind: dict[Id, Plain]
    """Why the part matters, by kind of component, where its system says too little."""
    condition_class: dict[ConditionClass, Plain]
    """What happens if it is left."""
