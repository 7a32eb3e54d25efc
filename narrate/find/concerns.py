"""The customer's concerns, from the order and as told, and the findings that answer them."""

from collections.abc import Sequence
from dataclasses import dataclass

from narrate.find.answers import Answers, as_answers, stems_of, suggest
from narrate.find.complaints import Complaint, find_complaints
from narrate.find.draft import Draft, Group
from narrate.find.evidence import stretch_evidence
from narrate.find.scene import Scene
from narrate.find.symptoms import Symptoms, symptoms_of
from narrate.find.tokens import split_tokens
from narrate.find.vocabulary import Vocabulary
from narrate.records.recording import Word
from narrate.records.walkaround import Answer, Concern, Finding


@dataclass(frozen=True, slots=True)
class Answered:
    """The concerns of a recording, and for each group the concerns it answers."""

    concerns: tuple[Concern, ...]
    answers: dict[str, tuple[Answer, ...]]


def find_concerns(scene: Scene, groups: Sequence[Group], ordered: Sequence[str], recording: str) -> Answered:
    """Concerns from the order, then those spoken; each with what the technician, or else the table, ties to it."""
    draft, vocabulary = scene.draft, scene.vocabulary
    concerns = list_concerns(ordered, vocabulary)
    for complaint in find_complaints(draft, vocabulary):
        _add(concerns, complaint, draft, vocabulary, recording)
    stated = Answers(scene, groups, concerns).stated() if concerns else {}
    answered = {concern for ids in stated.values() for concern in ids}
    suggested = suggest(draft, vocabulary, groups, [c for c in concerns if c.id not in answered])
    partly = {concern for ids in suggested.values() for concern in ids}
    told = tuple(
        c.model_copy(update={"state": "answered" if c.id in answered else "partly" if c.id in partly else "open"})
        for c in concerns
    )
    links = {
        group.id: as_answers(stated.get(group.id, ()), suggested.get(group.id, ()))
        for group in groups
        if group.id in stated or group.id in suggested
    }
    return Answered(told, links)


def list_concerns(ordered: Sequence[str], vocabulary: Vocabulary) -> list[Concern]:
    """The concerns written on an order."""
    symptoms = symptoms_of(vocabulary.lexicon)
    return [
        Concern(id=f"c{n}", text=text, origin="order", symptoms=symptoms.named(_words(text, vocabulary)))
        for n, text in enumerate(ordered, 1)
    ]


def _words(text: str, vocabulary: Vocabulary) -> list[str]:
    draft = split_tokens(Draft(words=tuple(Word(text=word) for word in text.split())), vocabulary)
    return [token.text for token in draft.tokens]


def _add(concerns: list[Concern], complaint: Complaint, draft: Draft, vocabulary: Vocabulary, recording: str) -> None:
    """A spoken concern; one that only tells an earlier one again is more evidence of that."""
    tokens = draft.tokens[complaint.first : complaint.last + 1]
    piece = stretch_evidence(draft, tokens[0].first_word, tokens[-1].last_word, recording)
    light, symptoms = vocabulary.cue_words["light"], symptoms_of(vocabulary.lexicon)
    stems = stems_of([token.text for token in tokens], light)
    for number, earlier in enumerate(concerns):
        before = stems_of(_words(earlier.text, vocabulary), light)
        if _same(symptoms, complaint.symptoms, earlier.symptoms) and (stems <= before or before <= stems):
            concerns[number] = earlier.model_copy(update={"evidence": (*earlier.evidence, piece)})
            return
    concerns.append(
        Concern(
            id=f"c{len(concerns) + 1}",
            text=piece.said.strip(" ,.;:!?"),
            symptoms=complaint.symptoms,
            origin="spoken",
            evidence=(piece,),
        )
    )


def _same(symptoms: Symptoms, ones: Sequence[str], others: Sequence[str]) -> bool:
    return bool(ones) and symptoms.particular(ones) == symptoms.particular(others)


def with_answers(findings: Sequence[Finding], groups: Sequence[Group], answered: Answered) -> tuple[Finding, ...]:
    """Findings with the concerns they answer; findings and groups are in the same order."""
    return tuple(
        finding.model_copy(update={"answers": answered.answers[group.id]}) if group.id in answered.answers else finding
        for finding, group in zip(findings, groups, strict=True)
    )
