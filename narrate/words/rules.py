"""Read lexicon/rules/: what findings are judged by, checked key by key against the lexicon."""

import hashlib
import tomllib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TypeVar

from pydantic import BaseModel, ValidationError

from narrate.errors import LexiconError
from narrate.settings import project_folder
from narrate.words.conversion import convertible
from narrate.words.entries import ConditionClass
from narrate.words.lexicon import Lexicon
from narrate.words.rule_entries import (
    GoesWithFile,
    InspectionFile,
    Item,
    Job,
    Limit,
    LimitsFile,
    Plain,
    PlainFile,
    RuleSet,
    Spread,
    UrgencyFile,
    UrgencyRule,
)

FileType = TypeVar("FileType", bound=BaseModel)


@dataclass(frozen=True, slots=True, eq=False)
class Rules:
    """Everything that judging looks up."""

    digest: str
    rule_sets: Mapping[str, RuleSet]
    limits: tuple[Limit, ...]
    spreads: tuple[Spread, ...]
    jobs: Mapping[str, Job]
    inspection: Mapping[str, Item]
    urgency: Mapping[str, UrgencyRule]
    """In the order they are tried."""
    systems: Mapping[str, Plain]
    kinds: Mapping[str, Plain]
    condition_classes: Mapping[ConditionClass, Plain]

    def set_for(self, market: str) -> str | None:
        """The rule set usual in a market."""
        return next((key for key, each in self.rule_sets.items() if each.market == market), None)


@lru_cache(maxsize=2)
def load_rules(lexicon: Lexicon, folder: Path | None = None) -> Rules:
    """The rules of a folder, or narrate's own.

    Raises LexiconError naming every mistake with file and key path.
    """
    folder = folder or project_folder("lexicon") / "rules"
    problems: list[str] = []
    whole = hashlib.sha256()

    def read(name: str, shape: type[FileType]) -> FileType | None:
        try:
            content = (folder / name).read_bytes()
            whole.update(content)
            return shape.model_validate(tomllib.loads(content.decode("utf-8")))
        except OSError:
            problems.append(f"rules/{name}: the file is missing")
        except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
            problems.append(f"rules/{name}: not valid TOML: {error}")
        except ValidationError as error:
            problems.extend(_tell(name, error))
        return None

    limits = read("limits.toml", LimitsFile)
    goes_with = read("goes_with.toml", GoesWithFile)
    inspection = read("inspection.toml", InspectionFile)
    urgency = read("urgency.toml", UrgencyFile)
    plain = read("plain_words.toml", PlainFile)
    if not (limits and goes_with and inspection and urgency and plain):
        raise LexiconError(tuple(problems))
    rules = Rules(
        digest=f"sha256:{whole.hexdigest()}",
        rule_sets=limits.rule_set,
        limits=limits.limit,
        spreads=limits.spread,
        jobs=goes_with.job,
        inspection=inspection.item,
        urgency=urgency.rule,
        systems=plain.system,
        kinds=plain.kind,
        condition_classes=plain.condition_class,
    )
    problems.extend(unknown_ids(rules, lexicon))
    if problems:
        raise LexiconError(tuple(problems))
    return rules


def _tell(name: str, error: ValidationError) -> Iterator[str]:
    for mistake in error.errors():
        path = ".".join(str(part) for part in mistake["loc"])
        yield f"rules/{name}: {path}: {mistake['msg'].removeprefix('Value error, ')}"


def unknown_ids(rules: Rules, lexicon: Lexicon) -> Iterator[str]:
    """Ids that the lexicon does not have, rule sets that are not defined, quantities that nobody measures."""

    def lacking(place: str, what: str, given: Iterable[str], known: Iterable[str]) -> Iterator[str]:
        yield from (f"rules/{place}: no {what} is called '{each}'" for each in given if each not in known)

    for number, limit in enumerate(rules.limits):
        place = f"limits.toml: limit.{number}"
        yield from lacking(f"{place}.rule_set", "rule set", [limit.rule_set], rules.rule_sets)
        yield from lacking(f"{place}.components", "component", limit.components, lexicon.components)
        yield from _unmeasured(place, limit.components, limit.quantity, limit.unit, lexicon)
    for number, spread in enumerate(rules.spreads):
        place = f"limits.toml: spread.{number}"
        yield from lacking(f"{place}.components", "component", spread.components, lexicon.components)
        yield from _unmeasured(place, spread.components, spread.quantity, spread.unit, lexicon)
    for key, job in rules.jobs.items():
        place = f"goes_with.toml: job.{key}"
        yield from lacking(f"{place}.components", "component", job.components, lexicon.components)
        yield from lacking(f"{place}.parts", "component", job.parts, lexicon.components)
        yield from lacking(f"{place}.actions", "action", job.actions, lexicon.actions)
    for key, item in rules.inspection.items():
        yield from lacking(f"inspection.toml: item.{key}.components", "component", item.components, lexicon.components)
    for key, rule in rules.urgency.items():
        place = f"urgency.toml: rule.{key}"
        yield from lacking(f"{place}.components", "component", rule.components, lexicon.components)
        yield from lacking(f"{place}.conditions", "condition", rule.conditions, lexicon.conditions)
        yield from lacking(f"{place}.actions", "action", rule.actions, lexicon.actions)
        yield from _braces(f"{place}.why", rule.why)
    systems = set(lexicon.system_of.values())
    yield from lacking("plain_words.toml: system", "system", rules.systems, systems)
    yield from lacking("plain_words.toml: kind", "kind", rules.kinds, lexicon.kinds)
    classes = {condition.class_ for condition in lexicon.conditions.values()}
    for key in sorted(systems - set(rules.systems)):
        yield f"rules/plain_words.toml: system: nothing is said for '{key}'"
    for key in sorted(classes - set(rules.condition_classes)):
        yield f"rules/plain_words.toml: condition_class: nothing is said for '{key}'"


def _unmeasured(place: str, components: Iterable[str], quantity: str, unit: str, lexicon: Lexicon) -> Iterator[str]:
    """Quantities nobody measures of a part, and units that no number of it has or can be turned into."""
    if unit not in {each.symbol for each in lexicon.units.values()}:
        yield f"rules/{place}.unit: no unit is written '{unit}'"
    for component in (each for each in components if each in lexicon.components):
        measures = lexicon.components[component].measures
        units = {measure.unit for measure in measures if measure.quantity == quantity}
        if not units:
            yield f"rules/{place}.quantity: '{quantity}' is not measured of '{component}'"
        elif not any(convertible(unit, measured) for measured in units):
            yield f"rules/{place}.unit: '{quantity}' of '{component}' is measured in {', '.join(sorted(units))}"


def _braces(place: str, why: str) -> Iterator[str]:
    try:
        why.format(part="", condition="", limit="")
    except (KeyError, IndexError, ValueError):
        yield f"rules/{place}: only {{part}}, {{condition}} and {{limit}} may stand in braces"
