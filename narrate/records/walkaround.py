"""Walkaround: concerns, findings and what was not understood (`narrate.walkaround/1`)."""

from decimal import Decimal
from typing import Literal

from pydantic import ConfigDict, Field

from narrate.records.base import Kept
from narrate.records.capture import CommandSaid
from narrate.records.recording import Recording
from narrate.records.reviewed import Decision, Edit, Review, Signed

SCHEMA: Literal["narrate.walkaround/1"] = "narrate.walkaround/1"

Status = Literal["fault", "ok", "unclear", "unchecked", "work"]
Certainty = Literal["stated", "suspected", "starting"]
Result = Literal["within", "at_limit", "below", "above", "no_rule"]
When = Literal["before_driving", "this_visit", "by_date_or_distance", "no_hurry"]


class Evidence(Kept):
    """Where something was said: inclusive word numbers of a recording, and those words verbatim."""

    recording: str
    first_word: int
    last_word: int
    start_s: float | None = None
    end_s: float | None = None
    said: str


class Component(Kept):
    """A part or system: what it is, and what was heard."""

    id: str
    name: str
    system: str
    heard: str


class Condition(Kept):
    """What is wrong with it."""

    id: str
    name: str
    certainty: Certainty = "stated"
    said: str


class Recommendation(Kept):
    """What should be done. `action` is an id of lexicon/actions.toml, or None."""

    action: str | None = None
    otherwise: tuple[str, ...] = ()
    timing: str | None = None
    conditional_on: str | None = None
    optional: bool = False


class Verdict(Kept):
    """A measurement against one limit of a named rule set."""

    result: Result
    limit: Decimal | None = None
    unit: str | None = None
    margin: Decimal | None = None
    rule_set: str | None = None
    source: str | None = None


class Measurement(Kept):
    """A number with its unit, exact as said: never rounded, never converted."""

    quantity: str | None = None
    value: Decimal
    high: Decimal | None = None
    """Upper end when a range was said."""
    unit: str
    about: bool = False
    location: str | None = None
    spoken_limit: Decimal | None = None
    said: str
    verdict: Verdict | None = None
    """By the limit spoken beside it, else by the rule set."""
    shop_verdict: Verdict | None = None
    """By the shop's own limit."""


class QuotedPrice(Kept):
    """A price the technician spoke. `currency` is an ISO 4217 code; `for` says which option."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True, serialize_by_alias=True)

    amount: Decimal
    currency: str
    for_: str = Field(default="", alias="for")
    said: str


class Answer(Kept):
    """A concern this finding answers: `stated` by the technician, or `suggested` by the tool."""

    concern: str
    link: Literal["stated", "suggested"] = "stated"


class Urgency(Kept):
    """How soon, why, and whether it was said or follows from a rule."""

    when: When
    by: str | None = None
    why: str | None = None
    origin: Literal["said", "rule", "person"] = "said"
    """`person`: set on the review page; no rule changes it."""
    said: "Urgency | None" = None
    """The technician's own word, where a rule or a person says otherwise."""


class Confidence(Kept):
    """0 to 1 a field; `overall` is the least of the fields. A ranking, not a probability."""

    overall: float
    component: float
    location: float
    condition: float
    recommendation: float


class Doubt(Kept):
    """A guess shown as a guess: which field, why, and what else it could be."""

    field: str
    why: str
    instead: tuple[str, ...] = ()


class PlainWords(Kept):
    """The tool's own words for the customer: why the part matters, or what may happen if it is left."""

    about: Literal["matters", "if_left"]
    text: str
    source: str


class Finding(Kept):
    """One component, axle, set of conditions and recommendation, with its evidence."""

    id: str
    component: Component
    locations: tuple[str, ...] = ()
    status: Status
    conditions: tuple[Condition, ...] = ()
    recommendation: Recommendation = Recommendation()
    measurements: tuple[Measurement, ...] = ()
    position: str | None = None
    codes: tuple[str, ...] = ()
    tests: tuple[str, ...] = ()
    reason: str | None = None
    consequence: str | None = None
    part_options: tuple[str, ...] = ()
    quoted_prices: tuple[QuotedPrice, ...] = ()
    answers: tuple[Answer, ...] = ()
    urgency: Urgency | None = None
    cautions: tuple[str, ...] = ()
    plain_words: tuple[PlainWords, ...] = ()
    attachments: tuple[str, ...] = ()
    evidence: tuple[Evidence, ...]
    confidence: Confidence
    doubts: tuple[Doubt, ...] = ()
    review: Review = Review()


class Concern(Kept):
    """Something the customer complained of."""

    id: str
    text: str
    symptoms: tuple[str, ...] = ()
    origin: Literal["spoken", "order"] = "spoken"
    state: Literal["open", "partly", "answered"] = "open"
    evidence: tuple[Evidence, ...] = ()


class Unplaced(Kept):
    """Words that sound like a finding and fit nowhere: listed so that nothing said is lost."""

    id: str
    why: str
    evidence: tuple[Evidence, ...]


class Suggestion(Kept):
    """Something the tool proposes, never mixed with what was said."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True, serialize_by_alias=True)

    id: str
    kind: str
    for_: str | None = Field(default=None, alias="for")
    text: str
    source: str
    evidence: tuple[Evidence, ...] = ()


class Contradiction(Kept):
    """Two findings that cannot both be right."""

    between: tuple[str, ...]
    about: str
    text: str


class PoorStretch(Kept):
    """A stretch of a recording that was hard to hear, and why."""

    recording: str
    start_s: float
    end_s: float
    why: str


class Odometer(Kept):
    """Distance on the clock, exact as said."""

    value: Decimal
    unit: Literal["mi", "km"]


class Vehicle(Kept):
    """The vehicle, as far as it was said or ordered. `drive_side` is where the driver sits."""

    vin: str | None = None
    plate: str | None = None
    year: int | None = None
    make: str | None = None
    model: str | None = None
    odometer: Odometer | None = None
    drive_side: Literal["left", "right"] = "left"


class HeadingValue(Kept):
    """Something said at the start about the job or the vehicle: which field it fills, and where it was said."""

    field: str
    value: str
    evidence: Evidence


class MadeBy(Kept):
    """What made this record: program version and digests of what it depends on."""

    program: str
    lexicon: str
    settings: str
    rules: str | None = None
    """Digest of the rules it was judged by."""
    joining: str | None = None
    """Digest of the trained weights that decided what belongs together."""


class Walkaround(Kept):
    """One vehicle's walk-round from its recordings to its findings."""

    model_config = ConfigDict(validate_by_name=True, validate_by_alias=True, serialize_by_alias=True)

    schema_: Literal["narrate.walkaround/1"] = Field(default=SCHEMA, alias="schema")
    made_by: MadeBy
    id: str = "w1"
    order_number: str | None = None
    technician: str | None = None
    market: Literal["us", "gb", "eu"] = "us"
    vehicle: Vehicle = Vehicle()
    heading: tuple[HeadingValue, ...] = ()
    recordings: tuple[Recording, ...] = ()
    concerns: tuple[Concern, ...] = ()
    findings: tuple[Finding, ...] = ()
    unplaced: tuple[Unplaced, ...] = ()
    suggestions: tuple[Suggestion, ...] = ()
    contradictions: tuple[Contradiction, ...] = ()
    comparisons: tuple[str, ...] = ()
    not_mentioned: tuple[str, ...] = ()
    without_verdict: tuple[str, ...] = ()
    poor_stretches: tuple[PoorStretch, ...] = ()
    review_order: tuple[str, ...] = ()
    edits: tuple[Edit, ...] = ()
    decisions: tuple[Decision, ...] = ()
    commands: tuple[CommandSaid, ...] = ()
    """What the technician told narrate itself while speaking, and what came of it."""
    signed: Signed | None = None
    ids_used: dict[str, int] = Field(default_factory=dict)
    """The highest number given so far to each letter of ids (`f`, `c`, `u`, `s`, `r`): ids are never reused."""
