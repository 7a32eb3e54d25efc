"""The customer's words: what they complained of, and which finding the technician ties to it."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass

from narrate.find.draft import Draft, Group, Mention, Scope
from narrate.find.evidence import stretch_evidence
from narrate.find.vocabulary import Vocabulary
from narrate.records.walkaround import Answer, Concern, Finding

SHORTEST = 1
ANSWER_REACH = 5
"""How many tokens after "that's your …" the complaint's word may stand."""
STEM = 4
"""Words alike in this many first letters name one symptom: grinding, grinds, grind."""


@dataclass(frozen=True, slots=True)
class Answered:
    """The concerns of a recording, and for each group the concerns it answers."""

    concerns: tuple[Concern, ...]
    answers: dict[str, tuple[Answer, ...]]


def find_concerns(
    draft: Draft, vocabulary: Vocabulary, groups: Sequence[Group], ordered: Sequence[str], recording: str
) -> Answered:
    """Concerns from the order first, then those spoken; `that's your …` ties one to the part spoken of."""
    concerns = [Concern(id=f"c{n}", text=text, origin="order") for n, text in enumerate(ordered, 1)]
    stretches: list[Scope] = []
    for scope in draft.scopes:
        if scope.kind == "customer" and scope.last - scope.first >= SHORTEST:
            if not (stretches and scope.first <= stretches[-1].last):
                stretches.append(scope)
    for scope in stretches:
        first, last = draft.tokens[scope.first].first_word, draft.tokens[scope.last].last_word
        piece = stretch_evidence(draft, first, last, recording)
        concerns.append(
            Concern(id=f"c{len(concerns) + 1}", text=piece.said.strip(" ,."), origin="spoken", evidence=(piece,))
        )
    answers = _answers(draft, groups, concerns, vocabulary.cue_words["light"])
    met = {answer.concern for some in answers.values() for answer in some}
    stated = tuple(c.model_copy(update={"state": "answered"}) if c.id in met else c for c in concerns)
    return Answered(stated, answers)


def _answers(
    draft: Draft, groups: Sequence[Group], concerns: Sequence[Concern], light: frozenset[str]
) -> dict[str, tuple[Answer, ...]]:
    heads = {m.id: m for m in draft.mentions}
    spoken = sorted((heads[head].first, group.id) for group in groups if group.status != "none" for head in group.heads)
    found: dict[str, tuple[Answer, ...]] = {}
    for cue in (m for m in draft.mentions if m.family == "cue" and m.key == "concern_answer"):
        at = bisect_left(spoken, (cue.first, ""))
        concern = _meant(draft, cue, concerns, light)
        if at and concern:
            group = spoken[at - 1][1]
            answer = Answer(concern=concern.id, link="stated")
            if answer not in found.get(group, ()):
                found[group] = (*found.get(group, ()), answer)
    return found


def _meant(draft: Draft, cue: Mention, concerns: Sequence[Concern], light: frozenset[str]) -> Concern | None:
    after = [token.text for token in draft.tokens[cue.last + 1 : cue.last + 1 + ANSWER_REACH]]
    stems = {word[:STEM] for word in after if word not in light and len(word) >= 3}
    for concern in concerns:
        if stems & {w[:STEM] for w in concern.text.lower().split() if w not in light}:
            return concern
    return None


def with_answers(findings: Sequence[Finding], groups: Sequence[Group], answered: Answered) -> tuple[Finding, ...]:
    """Findings with the concerns they answer; findings and groups are in the same order."""
    return tuple(
        finding.model_copy(update={"answers": answered.answers[group.id]}) if group.id in answered.answers else finding
        for finding, group in zip(findings, groups, strict=True)
    )
