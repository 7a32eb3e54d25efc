"""What is usually done together with a piece of work, suggested where the technician said nothing of it."""

import re
from collections.abc import Iterator
from functools import lru_cache

from narrate.judge.numbering import new_ids
from narrate.judge.places import across, covers, may_meet
from narrate.records.walkaround import Finding, Suggestion, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.phrases import plural
from narrate.words.rule_entries import Job
from narrate.words.rules import Rules

KIND = "goes_with"


def suggest_goes_with(walkaround: Walkaround, rules: Rules, lexicon: Lexicon) -> Walkaround:
    """Add a suggestion for each job of the rules that a finding brings along; each text once for one place."""
    said = _said(_words(walkaround), lexicon)
    told: set[tuple[str, tuple[str, ...]]] = set()
    suggestions = list(walkaround.suggestions)
    ids = new_ids(walkaround, "s")
    for finding in _to_be_done(walkaround):
        for text, source in _wanted(finding, walkaround, rules, said):
            key = text, finding.locations
            if key not in told:
                told.add(key)
                suggestions.append(Suggestion(id=next(ids), kind=KIND, for_=finding.id, text=text, source=source))
    return walkaround.model_copy(update={"suggestions": tuple(suggestions)})


def _to_be_done(walkaround: Walkaround) -> Iterator[Finding]:
    for finding in walkaround.findings:
        wanted = finding.status in ("fault", "work", "unclear") and finding.review.state != "dropped"
        if wanted and finding.recommendation.action and finding.recommendation.timing != "done":
            yield finding


def _wanted(finding: Finding, walkaround: Walkaround, rules: Rules, said: "_Said") -> Iterator[tuple[str, str]]:
    for job in rules.jobs.values():
        if not _brings(finding, job) or said.any_of(job.unless_said):
            continue
        if job.pair:
            others = _other_sides(finding, walkaround)
            if others:
                yield f"{job.text} (the other side: {' and '.join(others)})", job.source
        elif not _spoken_of(finding, job, walkaround, said):
            yield job.text, job.source


def _brings(finding: Finding, job: Job) -> bool:
    here = finding.component.id in job.components and finding.recommendation.action in job.actions
    return here and (not job.places or covers(job.places, finding.locations))


def _other_sides(finding: Finding, walkaround: Walkaround) -> list[str]:
    """The other side of the axle, where the work is recommended on one side only and the other was not done."""
    seen_to = {
        place
        for each in walkaround.findings
        if each.component.id == finding.component.id and each.review.state != "dropped"
        if each.recommendation.action == finding.recommendation.action or each.recommendation.timing == "done"
        for place in each.locations
    }
    others = (other for place in finding.locations if (other := across(place)))
    return [other for other in dict.fromkeys(others) if other not in seen_to]


def _spoken_of(finding: Finding, job: Job, walkaround: Walkaround, said: "_Said") -> bool:
    """Whether anything was said of one of the parts there, or one was named of which nothing was found."""
    for part in job.parts:
        places = [f.locations for f in walkaround.findings if f.component.id == part and f.review.state != "dropped"]
        if any(may_meet(each, finding.locations) for each in places):
            return True
        # Where it was found at the other axle, naming it was about that one.
        if not places and said.named(part, besides=finding.component.id):
            return True
    return False


def _words(walkaround: Walkaround) -> str:
    """The words of all recordings, with what a person put in their place."""
    texts: list[str] = []
    for recording in walkaround.recordings:
        words = [word.text for word in recording.words]
        for edit in walkaround.edits:
            if edit.recording == recording.id:
                words[edit.first_word : edit.last_word + 1] = [edit.text, *[""] * (edit.last_word - edit.first_word)]
        texts += words
    return " ".join(texts)


@lru_cache(maxsize=8)
def _said(words: str, lexicon: Lexicon) -> "_Said":
    # A page judges after every correction, and the words stay the same.
    return _Said(words, lexicon)


class _Said:
    """Words, to look phrases up in; what was looked up is kept."""

    def __init__(self, words: str, lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self._without: dict[str, str] = {}
        self._found: dict[tuple[str, str], bool] = {}
        self._told: dict[tuple[str, ...], bool] = {}
        self._text = " ".join(["", *re.findall(r"[a-z0-9']+", words.lower()), ""])

    def named(self, part: str, *, besides: str) -> bool:
        """Whether a part was named, one or more of it, other than within a name of the component `besides`."""
        if (part, besides) not in self._found:
            text = self._text_without(besides)
            self._found[part, besides] = any(f" {form} " in text for form in self._forms(part))
        return self._found[part, besides]

    def _text_without(self, component: str) -> str:
        if component not in self._without:
            text = self._text
            for form in sorted(self._forms(component), key=len, reverse=True):
                text = text.replace(f" {form} ", " | ")
            self._without[component] = text
        return self._without[component]

    def _forms(self, component: str) -> list[str]:
        entry = self._lexicon.components.get(component)
        return [form for name in entry.names for form in (name, plural(name))] if entry else []

    def any_of(self, patterns: tuple[str, ...]) -> bool:
        """Whether a phrase was said; `bleed*` is any word that begins so."""
        if patterns not in self._told:
            self._told[patterns] = any(
                re.search(" " + re.escape(each).replace(r"\*", "[a-z']*") + " ", self._text) is not None
                for each in patterns
            )
        return self._told[patterns]
