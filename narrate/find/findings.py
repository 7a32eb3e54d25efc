"""Groups become findings, field by field."""

from dataclasses import dataclass
from decimal import Decimal

from narrate.find.codes_told import with_codes
from narrate.find.draft import Amount, Group, Mention
from narrate.find.evidence import evidence_of, said_tokens
from narrate.find.fields import (
    Said,
    conditions_measured,
    conditions_of,
    locations_of,
    look_up,
    recommendation_of,
    used_items,
)
from narrate.find.measured import measurements_of
from narrate.find.merging import merge
from narrate.find.scene import Scene
from narrate.find.splitting import split_places
from narrate.find.told import consequence_of, reason_of, tests_of, timing_of, urgency_of, while_open_of
from narrate.records.walkaround import (
    Component,
    Condition,
    Confidence,
    Doubt,
    Finding,
    QuotedPrice,
    Status,
)
from narrate.words.lexicon import Lexicon

CENTS = Decimal("0.01")
UNSURE = 0.6
"""Below it the status of a finding is shown as a guess."""
CURRENCY = {"us": "USD", "gb": "GBP", "eu": "EUR"}


@dataclass(frozen=True, slots=True)
class Context:
    """What the shop and the order say about reading the words."""

    market: str
    drive_side: str
    recording: str


def make_findings(scene: Scene, context: Context) -> tuple[tuple[Group, ...], tuple[Finding, ...]]:
    """One finding for each group that is a statement about the vehicle, in the order first said."""
    draft = scene.draft
    listed = split_places(scene, look_up(draft, draft.groups), context.drive_side)
    groups = with_codes(scene, merge(scene, listed, context.drive_side))
    return tuple(said.group for said in groups), tuple(
        _finding(scene, said, context, f"f{number}") for number, said in enumerate(groups, 1)
    )


def _finding(scene: Scene, said: Said, context: Context, id_: str) -> Finding:
    draft, lexicon = scene.draft, scene.vocabulary.lexicon
    part = said.part
    status: Status = said.group.status  # type: ignore[assignment]
    conditions = conditions_of(scene, said) if status in ("fault", "work", "unclear") else ()
    locations = locations_of(scene, said, context.drive_side)
    measurements = measurements_of(scene, said, locations, context.market, context.drive_side)
    measured = conditions_measured(lexicon, measurements) if status == "fault" and not conditions else ()
    recommendation = recommendation_of(scene, said, status)
    recommendation = recommendation.model_copy(
        update={
            "timing": recommendation.timing or timing_of(scene, said),
            "conditional_on": while_open_of(scene, said),
        }
    )
    tokens = {n for head in said.heads for n in range(head.first, head.last + 1)}
    tokens |= {n for item in used_items(scene, said) for n in range(item.first, item.last + 1)}
    confidence = _confidence(scene, said, part)
    return Finding(
        id=id_,
        component=Component(
            id=part.key,
            name=lexicon.name(part.key, context.market),
            system=lexicon.system_of[part.key],
            heard=said_tokens(draft, part.first, part.last),
        ),
        locations=locations,
        status=status,
        conditions=conditions or measured,
        recommendation=recommendation,
        measurements=measurements,
        codes=tuple(dict.fromkeys(item.text for item, _ in said.of("code") if isinstance(item, Amount))),
        tests=tests_of(scene, said),
        reason=reason_of(scene, said),
        consequence=consequence_of(scene, said),
        urgency=urgency_of(scene, said),
        part_options=_part_options(said),
        quoted_prices=_prices(scene, said, context),
        cautions=cautions_of(lexicon, part.key, status),
        evidence=evidence_of(draft, tokens, context.recording),
        confidence=confidence,
        doubts=_doubts(scene, said, part, conditions, measured, context),
    )


def cautions_of(lexicon: Lexicon, component: str, status: Status) -> tuple[str, ...]:
    """The subject of the usual caution, where a fault of the part can hurt someone."""
    safety = lexicon.components[component].safety
    return (safety,) if safety and status in ("fault", "unclear", "unchecked") else ()


def _part_options(said: Said) -> tuple[str, ...]:
    return tuple(
        dict.fromkeys(item.key.removeprefix("part_") for item, _ in said.of("part") if isinstance(item, Mention))
    )


def _prices(scene: Scene, said: Said, context: Context) -> tuple[QuotedPrice, ...]:
    options = [item for item, _ in said.of("part") if isinstance(item, Mention)]
    prices = []
    for item, _ in said.of("price"):
        if isinstance(item, Amount):
            near = [o for o in options if abs(o.first - item.first) <= 8]
            option = min(near, key=lambda o: abs(o.first - item.first)).key.removeprefix("part_") if near else ""
            prices.append(
                QuotedPrice(
                    amount=item.value.quantize(CENTS),
                    currency=item.unit or CURRENCY[context.market],
                    for_=option,
                    said=said_tokens(scene.draft, item.first, item.last),
                )
            )
    return tuple(prices)


def _confidence(scene: Scene, said: Said, part: Mention) -> Confidence:
    def least(*families: str) -> float:
        return min((chance for _, chance in said.of(*families)), default=1.0)

    heard = min((_heard(scene, head.first, head.last) for head in said.heads), default=1.0)
    fields = {
        "component": min(part.score, heard, 0.6 if part.needs_context else 1.0),
        "location": least("location"),
        "condition": min(least("condition", "approval", "amount"), said.group.probability),
        "recommendation": least("action", "offer"),
    }
    rounded = {name: round(value, 3) for name, value in fields.items()}
    return Confidence(overall=min(rounded.values()), **rounded)


def _heard(scene: Scene, first: int, last: int) -> float:
    """The least word probability under a stretch: the mean hides one bad word (hearing measurements)."""
    tokens = scene.draft.tokens
    words = scene.draft.words[tokens[first].first_word : tokens[last].last_word + 1]
    return min((w.probability for w in words if w.probability is not None), default=1.0)


def _doubts(
    scene: Scene,
    said: Said,
    part: Mention,
    conditions: tuple[Condition, ...],
    measured: tuple[Condition, ...],
    context: Context,
) -> tuple[Doubt, ...]:
    lexicon = scene.vocabulary.lexicon
    doubts = []
    if part.how in ("guess", "heard") or part.runner_up:
        heard = said_tokens(scene.draft, part.first, part.last)
        others = (part.runner_up,) if part.runner_up else ()
        doubts.append(
            Doubt(
                field="component",
                why=f"heard '{heard}'",
                instead=tuple(lexicon.name(c, context.market) for c in others),
            )
        )
    for condition in conditions:
        if not lexicon.legal(part.key, condition.id):
            doubts.append(Doubt(field="condition", why=f"'{condition.said}' is not what such a part can be"))
    doubts += [Doubt(field="condition", why=f"taken from '{condition.said}' alone") for condition in measured]
    if said.group.probability < UNSURE:
        doubts.append(Doubt(field="status", why="it is not plain what was said of it"))
    return tuple(doubts)
