"""The shape of the lexicon's files, key by key; a key that is not here is a mistake."""

import re
from decimal import Decimal
from typing import Annotated, Literal

from pydantic import AfterValidator, Field

from narrate.records.base import Written
from narrate.records.capture import CommandId


def _plain(text: str) -> str:
    if text != " ".join(text.lower().split()) or not text:
        message = "must be lower case, with single blanks and none at the ends"
        raise ValueError(message)
    return text


def _identifier(text: str) -> str:
    if not re.fullmatch(r"[a-z][a-z0-9_]*", text):
        message = "must be snake_case"
        raise ValueError(message)
    return text


Phrase = Annotated[str, AfterValidator(_plain)]
Id = Annotated[str, AfterValidator(_identifier)]
Axis = Literal["front|rear", "left|right", "upper|lower", "inner|outer"]
Place = Literal["front", "rear", "left", "right", "upper", "lower", "inner", "outer"]
ConditionClass = Literal[
    "wear", "leak", "noise", "play", "damage", "corrosion", "dirt", "level", "stuck", "loose", "missing",
    "heat", "electrical", "performance", "age", "fit", "optical", "pressure",
]  # fmt: skip
Safety = Literal[
    "brakes", "steering", "suspension", "tires", "restraints", "fuel", "high_voltage", "lifting", "visibility"
]
Schema = Literal["narrate.lexicon/1"]


class Measure(Written):
    """A number spoken about a part: the unit meant when none is said, and what is possible at all."""

    quantity: Phrase
    unit: str
    low: Decimal | None = None
    high: Decimal | None = None

    def allows(self, value: Decimal) -> bool:
        """Whether so much is possible at all."""
        return (self.low is None or self.low <= value) and (self.high is None or value <= self.high)


class ComponentEntry(Written):
    """One component and all its names."""

    name: Phrase
    gb: Phrase | None = None
    aliases: tuple[Phrase, ...] = ()
    needs_context: tuple[Phrase, ...] = ()
    short: tuple[Phrase, ...] = ()
    """Bare words that mean it once it, or its system, is being talked about ("hose"); they may have many owners."""
    heard: tuple[Phrase, ...] = ()
    kind: Id
    parent: Id | None = None
    places: tuple[Axis, ...] = ()
    at: tuple[Place, ...] = ()
    irregular_plural: Phrase | None = None
    measures: tuple[Measure, ...] = ()
    measured_as: Id | None = None
    """The component that is meant where a number is told that only it has: brakes at four millimeters are pads."""
    asked: Id | None = None
    """The action that "needs a …" asks for, where it is not a new one: an alignment is to be aligned."""
    safety: Safety | None = None
    example: str = ""
    """A sentence as people say it that names this part and what is wrong with it; a shop's own parts need none."""
    example_ok: bool = False
    """The sentence says that the part is fine."""

    @property
    def names(self) -> tuple[str, ...]:
        """Its name, the one where tires are tyres, and its aliases, each once."""
        return tuple(dict.fromkeys((self.name, self.gb or self.name, *self.aliases)))


class SystemFile(Written):
    """systems/*.toml"""

    schema_: Schema = Field(alias="schema")
    system: Id
    title: str
    component: dict[Id, ComponentEntry]


class KindEntry(Written):
    """What may be wrong with a kind of component."""

    classes: tuple[ConditionClass, ...]
    mass: bool = False
    """A substance: no plural, no count."""


class KindsFile(Written):
    """kinds.toml"""

    schema_: Schema = Field(alias="schema")
    kind: dict[Id, KindEntry]


class ConditionEntry(Written):
    """Something that can be wrong."""

    name: Phrase
    class_: ConditionClass = Field(alias="class")
    aliases: tuple[Phrase, ...] = ()
    needs_context: tuple[Phrase, ...] = ()
    polarity: Literal["bad", "neutral"] = "bad"
    measured: tuple[Phrase, ...] = ()
    """Quantities of which a number alone says it, where the part was faulted with no other word."""


class ConditionsFile(Written):
    """conditions.toml"""

    schema_: Schema = Field(alias="schema")
    condition: dict[Id, ConditionEntry]


class ActionEntry(Written):
    """Something that can be recommended."""

    name: Phrase
    aliases: tuple[Phrase, ...] = ()
    needs_context: tuple[Phrase, ...] = ()
    gives_way: bool = False
    """Whether another action said of the same part is what is recommended, and this one comes beside it."""


class ActionsFile(Written):
    """actions.toml"""

    schema_: Schema = Field(alias="schema")
    action: dict[Id, ActionEntry]


class LocationEntry(Written):
    """Words for a place, or for a way of naming places."""

    places: tuple[str, ...] = ()
    """Canonical place named, e.g. "front left"."""
    means: Literal["place", "driver", "passenger", "nearside", "offside", "all", "both", "other"] = "place"
    words: tuple[Phrase, ...]


class LocationsFile(Written):
    """locations.toml"""

    schema_: Schema = Field(alias="schema")
    location: dict[Id, LocationEntry]


class CueEntry(Written):
    """Words that change what the words around them mean."""

    meaning: str
    """What the group does, for people."""
    reach: int = 0
    """How many tokens it reaches, 0 for as far as the clause goes."""
    direction: Literal["forward", "backward", "both", "none"] = "forward"
    apart: bool = False
    """Only the reader it was made for looks it up; it makes no mentions."""
    words: tuple[Phrase, ...]


class CuesFile(Written):
    """cues.toml"""

    schema_: Schema = Field(alias="schema")
    cue: dict[Id, CueEntry]


class UnitEntry(Written):
    """A unit of measurement and how it is said."""

    symbol: str
    quantity: Phrase
    scale: Decimal = Decimal(1)
    """What one spoken unit is in `symbol`: a thou is 0.001 in."""
    words: tuple[Phrase, ...]


class UnitsFile(Written):
    """units.toml"""

    schema_: Schema = Field(alias="schema")
    unit: dict[Id, UnitEntry]
    spelling: dict[Phrase, Phrase]
    """Another spelling of a word -> the one used in the lexicon."""


class MakeEntry(Written):
    """A carmaker, as it is written and as it is said, and its common models."""

    name: str
    aliases: tuple[Phrase, ...] = ()
    models: tuple[str, ...] = ()
    """As they are written; said, spoken numbers count as digits."""
    everyday: bool = False
    """An ordinary word too: it counts only beside a model or a year."""


class MakesFile(Written):
    """makes.toml"""

    schema_: Schema = Field(alias="schema")
    letter: dict[Phrase, str]
    """A word that spells a letter or digit -> which."""
    make: dict[Id, MakeEntry]


class SymptomEntry(Written):
    """Something customers complain of: how they say it, and what causes it."""

    name: Phrase
    under: Id | None = None
    """The wider symptom it is a case of."""
    says: tuple[Phrase, ...] = ()
    """Phrases, each enough; words in this order with few others between, `*` for any ending. None: the wider one's."""
    when: tuple[Phrase, ...] = ()
    """One of these must be said too."""
    unless: tuple[Phrase, ...] = ()
    """Any of these makes it another complaint: a seat heater is no heater."""
    components: tuple[Id, ...]
    """What causes it, likeliest first."""
    conditions: tuple[Id, ...] = ()


class SymptomsFile(Written):
    """symptoms.toml"""

    schema_: Schema = Field(alias="schema")
    source: str
    """Where the causes are from."""
    told_by: tuple[Phrase, ...] = ()
    """Words between a complaint told again and its cause."""
    symptom: dict[Id, SymptomEntry]


class HintsFile(Written):
    """hints.toml"""

    schema_: Schema = Field(alias="schema")
    terms: tuple[str, ...]
    """As the recogniser should write them, capitals included."""


class OftenEntry(Written):
    """How often a part was called so where narrations were counted, and how easily that is mis-heard."""

    component: Id
    count: int = Field(ge=1)
    confusable: float = Field(ge=0, le=1)


class OftenFile(Written):
    """often.toml: names as the recogniser should write them, most often first."""

    schema_: Schema = Field(alias="schema")
    often: dict[str, OftenEntry]


class CommandEntry(Written):
    """Something a technician tells narrate itself."""

    what: str
    """What it does, for people."""
    says: tuple[Phrase, ...] = Field(min_length=1)
    """Phrases behind the address; the first is the one that is taught."""
    heard: tuple[Phrase, ...] = ()
    """What a recognizer has really written for one of them."""


class CommandsFile(Written):
    """commands.toml"""

    schema_: Schema = Field(alias="schema")
    address: Phrase
    """The word that begins every command."""
    address_heard: tuple[Phrase, ...] = ()
    idle: tuple[Phrase, ...] = ()
    """Words that may stand before or behind a command and mean nothing."""
    command: dict[CommandId, CommandEntry]
