"""What is usually done together with a piece of work, suggested where the technician said nothing of it."""

import re
from collections.abc import Iterator

from narrate.judge.places import across, covers, may_meet
from narrate.records.walkaround import Finding, Suggestion, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import plural
from narrate.words.rule_entries import Job
from narrate.words.rules import Rules

KIND = "goes_with"


def suggest_goes_with(walkaround: Walkaround, rules: Rules, lexicon: Lexicon) -> Walkaround:
    """Add a suggestion for each job of the rules that a finding brings along; each text once for one place."""
    said = _Said(walkaround)
    told: set[tuple[str, tuple[str, ...]]] = set()
    suggestions = [each for each in walkaround.suggestions if each.kind != KIND]
    count = len(suggestions)
    for finding in _to_be_done(walkaround):
        for text, source in _wanted(finding, walkaround, rules, lexicon, said):
            key = text, finding.locations
            if key not in told:
                told.add(key)
                count += 1
                suggestions.append(Suggestion(id=f"s{count}", kind=KIND, for_=finding.id, text=text, source=source))
    return walkaround.model_copy(update={"suggestions": tuple(suggestions)})


def _to_be_done(walkaround: Walkaround) -> Iterator[Finding]:
    for finding in walkaround.findings:
        wanted = finding.status in ("fault", "work", "unclear") and finding.review.state != "dropped"
        if wanted and finding.recommendation.action and finding.recommendation.timing != "done":
            yield finding


def _wanted(
    finding: Finding, walkaround: Walkaround, rules: Rules, lexicon: Lexicon, said: "_Said"
) -> Iterator[tuple[str, str]]:
    for job in rules.jobs.values():
        if not _brings(finding, job) or said.any_of(job.unless_said):
            continue
        if job.pair:
            other = _other_side(finding, walkaround)
            if other:
                yield f"{job.text} (the other side: {other})", job.source
        elif not _spoken_of(finding, job, walkaround, lexicon, said):
            yield job.text, job.source


def _brings(finding: Finding, job: Job) -> bool:
    here = finding.component.id in job.components and finding.recommendation.action in job.actions
    return here and (not job.places or covers(job.places, finding.locations))


def _other_side(finding: Finding, walkaround: Walkaround) -> str | None:
    """The other side of the axle, where the same work is recommended on one side only."""
    same = [
        place
        for each in _to_be_done(walkaround)
        if each.component.id == finding.component.id and each.recommendation.action == finding.recommendation.action
        for place in each.locations
    ]
    missing = [other for place in finding.locations if (other := across(place)) and other not in same]
    return missing[0] if missing else None


def _spoken_of(finding: Finding, job: Job, walkaround: Walkaround, lexicon: Lexicon, said: "_Said") -> bool:
    """Whether anything was said of one of the parts there, or one of them was named at all."""
    found = any(
        each.component.id in job.parts and may_meet(each.locations, finding.locations)
        for each in walkaround.findings
        if each.review.state != "dropped"
    )
    names = (
        name
        for part in job.parts
        if (entry := lexicon.components.get(part))
        for name in (entry.name, *((entry.gb,) if entry.gb else ()), *entry.aliases)
    )
    return found or any(said.named(name) for name in names)


class _Said:
    """The words of all recordings, to look phrases up in."""

    def __init__(self, walkaround: Walkaround) -> None:
        words = (word.text for recording in walkaround.recordings for word in recording.words)
        self._text = " ".join(["", *re.findall(r"[a-z0-9']+", " ".join(words).lower()), ""])

    def named(self, name: str) -> bool:
        """Whether a name was said, one or more of it."""
        return f" {name} " in self._text or f" {plural(name)} " in self._text

    def any_of(self, patterns: tuple[str, ...]) -> bool:
        """Whether a phrase was said; `bleed*` is any word that begins so."""
        return any(
            re.search(" " + re.escape(each).replace(r"\*", "[a-z']*") + " ", self._text) is not None
            for each in patterns
        )
