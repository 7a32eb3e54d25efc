"""Work that is usually done along: suggestions of the program that the book has a price for, each an optional job."""

from collections.abc import Iterator, Sequence

from narrate.price.choices import Pricing
from narrate.price.matching import Asked, Match, match
from narrate.price.wanted import Wanted, quantity_of, served_at_once
from narrate.records.walkaround import Finding, Suggestion, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.rules import load_rules

KIND = "goes_with"
_OTHER_SIDE = " (the other side: "


def optional_work(walkaround: Walkaround, wanted: Sequence[Wanted], pricing: Pricing) -> Iterator[Wanted]:
    """Suggested work that is not asked for already and does not go in with what is."""
    findings = {finding.id: finding for finding in walkaround.findings if finding.review.state != "dropped"}
    settled = {each.about for each in walkaround.decisions}
    there = list(wanted)
    brought = {quantity_of(text)[0] for each in wanted for text in each.operation.with_parts}
    priced = {finding for each in wanted for finding in each.finding_ids}
    keys = {key for each in wanted for key in each.operation.requires}
    for suggestion in walkaround.suggestions:
        finding = findings.get(suggestion.for_ or "")
        if suggestion.kind != KIND or finding is None or suggestion.id in settled or finding.id not in priced:
            continue
        for asked in _asked(suggestion, finding, pricing.lexicon):
            if asked.component in brought:
                break
            found = match(asked, pricing.index, pricing.vehicle, pricing.lexicon)
            made = [each for each in found if isinstance(each, Match) and not each.doubts]
            if len(made) != len(found) or any(each.operation.key in keys for each in made):
                continue
            for each in made:
                name = pricing.lexicon.components[each.operation.component].name
                why = f"Suggested with {finding.component.name}: {suggestion.text} ({suggestion.source})"
                work = Wanted(
                    each.operation,
                    each.counted,
                    asked.action,
                    name,
                    (why, each.why),
                    locations=tuple(place for place in each.counted.places if place),
                    optional=True,
                )
                if not any(served_at_once(other, work) or _is_there(other, work) for other in there):
                    there.append(work)
                    yield work
            break


def _is_there(one: Wanted, other: Wanted) -> bool:
    """Whether something is done to the same part at the same place already."""
    same = one.operation.component == other.operation.component
    return same and bool(set(one.counted.places) & set(other.counted.places))


def _asked(suggestion: Suggestion, finding: Finding, lexicon: Lexicon) -> Iterator[Asked]:
    """What a suggestion is about, by its own fields or by the rule whose words it has."""
    extra = suggestion.model_extra or {}
    if extra.get("component"):
        places = tuple(extra.get("locations") or finding.locations)
        yield Asked(str(extra["component"]), str(extra.get("action") or "replace"), places)
        return
    text, _, side = suggestion.text.partition(_OTHER_SIDE)
    job = next((each for each in load_rules(lexicon).jobs.values() if each.text == text), None)
    if job is None:
        return
    action = finding.recommendation.action
    if job.pair and side and action:
        yield Asked(finding.component.id, action, tuple(side.removesuffix(")").split(" and ")))
        return
    for part in job.parts:
        entry = lexicon.components.get(part)
        axes = entry.places if entry else ()
        yield Asked(part, (entry and entry.asked) or "replace", finding.locations if axes else ())
