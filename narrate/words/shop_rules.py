"""The shop's own limits and inspection list, laid over narrate's."""

import dataclasses
import hashlib
import tomllib
from pathlib import Path

from pydantic import Field, ValidationError

from narrate.errors import UsageError
from narrate.records.base import Written
from narrate.words.entries import Id, Phrase
from narrate.words.lexicon import Lexicon
from narrate.words.rule_entries import NO_SOURCE, SHOP, Bound, Item, Limit, Schema
from narrate.words.rules import Rules, unknown_ids


class ShopLimit(Bound):
    """A limit of the shop's own; without a source it is common practice."""

    source: str = Field(default=NO_SOURCE, min_length=1)


class ShopItem(Written):
    """One thing on the shop's own inspection list."""

    heading: str = ""
    name: Phrase
    components: tuple[Id, ...]


class ShopRulesFile(Written):
    """What a shop changes: its limits take the place of narrate's for the same part and quantity."""

    schema_: Schema = Field(alias="schema")
    limit: tuple[ShopLimit, ...] = ()
    item: dict[Id, ShopItem] = Field(default_factory=dict)
    """The whole inspection list, if any item is given."""


def lay_shop_rules_over(rules: Rules, file: Path, lexicon: Lexicon) -> Rules:
    """The rules with the shop's own. Raises UsageError with one line a mistake, naming file and key path."""
    try:
        content = file.read_bytes()
        own = ShopRulesFile.model_validate(tomllib.loads(content.decode("utf-8")))
    except OSError as error:
        message = f"{file} cannot be read ({error.strerror}); correct shop_rules in the settings."
        raise UsageError(message) from error
    except (UnicodeDecodeError, tomllib.TOMLDecodeError) as error:
        message = f"{file} is not valid TOML: {error}; correct it."
        raise UsageError(message) from error
    except ValidationError as error:
        lines = [
            f"{file}: {'.'.join(map(str, e['loc']))}: {e['msg'].removeprefix('Value error, ')}; correct it."
            for e in error.errors()
        ]
        raise UsageError("\n".join(lines)) from error
    changed = {(component, each.quantity) for each in own.limit for component in each.components}
    kept = [left for each in rules.limits if (left := _without(each, changed))]
    added = [Limit(rule_set=SHOP, how="common practice", **each.model_dump()) for each in own.limit]
    items = {
        key: Item(heading=each.heading, name=each.name, components=each.components, source="the shop's own list")
        for key, each in own.item.items()
    }
    whole = hashlib.sha256(rules.digest.encode() + content).hexdigest()
    laid = dataclasses.replace(
        rules, digest=f"sha256:{whole}", limits=(*kept, *added), inspection=items or rules.inspection
    )
    alone = dataclasses.replace(laid, limits=tuple(added), inspection=items)
    problems = [problem.partition(": ")[2] for problem in unknown_ids(alone, lexicon)]
    if problems:
        raise UsageError("\n".join(f"{file}: {problem}; correct it." for problem in problems))
    return laid


def _without(limit: Limit, changed: set[tuple[str, str]]) -> Limit | None:
    """A limit of narrate's for the parts that the shop has no own one for."""
    if limit.rule_set != SHOP:
        return limit
    left = tuple(component for component in limit.components if (component, limit.quantity) not in changed)
    return limit.model_copy(update={"components": left}) if left else None
