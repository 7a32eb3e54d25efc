"""What is cut out in review stays out of everything that leaves the shop.

The words as heard and the original sound stay where they are, so that a cut can be taken back; a record that is to be
shown or given to others goes through `without_cuts` first, and its sound is silent at `cut_spans`.
"""

from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from narrate.records.capture import CommandSaid
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Edit
from narrate.records.walkaround import Evidence, Finding, Walkaround

CUT = "[cut out]"
"""What stands in the place of each word."""
MARGIN_S = 1.0
"""How far silence may reach beyond the words at the most: their times are not exact."""
Thing = TypeVar("Thing", bound=Any)


def without_cuts(walkaround: Walkaround) -> Walkaround:
    """The walkaround without any of the words cut out, nor what rests on them; the very same where nothing is cut."""
    cuts = {recording.id: _numbers(walkaround, recording.id) for recording in walkaround.recordings}
    if not any(cuts.values()):
        return walkaround
    heard = {recording.id: _without(recording, cuts[recording.id]) for recording in walkaround.recordings}

    def said_anew(pieces: Iterable[Evidence]) -> tuple[Evidence, ...]:
        return tuple(_said_anew(piece, heard[piece.recording]) if _cut(piece, cuts) else piece for piece in pieces)

    def anew(things: Iterable[Thing]) -> tuple[Thing, ...]:
        return tuple(each.model_copy(update={"evidence": said_anew(each.evidence)}) for each in things)

    def touched(thing: Any) -> bool:  # noqa: ANN401 - whatever has evidence
        return any(_cut(piece, cuts) for piece in thing.evidence)

    # What is not dropped was found, or decided on, without the words cut out: only its quotes run over them.
    findings = (_bare(f) if f.review.state == "dropped" and touched(f) else f for f in walkaround.findings)
    return walkaround.model_copy(
        update={
            "recordings": tuple(heard.values()),
            "findings": anew(findings),
            "concerns": anew(walkaround.concerns),
            "unplaced": anew(walkaround.unplaced),
            "suggestions": anew(walkaround.suggestions),
            "heading": tuple(each for each in walkaround.heading if not _cut(each.evidence, cuts)),
            "commands": tuple(each for each in walkaround.commands if not _in_time(each, heard, cuts)),
        }
    )


def cut_spans(walkaround: Walkaround, recording_id: str) -> tuple[tuple[float, float], ...]:
    """Where the sound of a recording is to be silent, seconds from its start."""
    recording = next((each for each in walkaround.recordings if each.id == recording_id), None)
    if recording is None:
        return ()
    spans = (_span(recording.words, each) for each in cut_edits(walkaround, recording_id))
    return tuple(span for span in spans if span)


def cut_edits(walkaround: Walkaround, recording_id: str) -> tuple[Edit, ...]:
    """The cuts in a recording, in their order."""
    return tuple(each for each in walkaround.edits if each.cut and each.recording == recording_id)


def _span(words: Sequence[Word], cut: Edit) -> tuple[float, float] | None:
    """From the end of the word before to the start of the word after, but MARGIN_S beyond the words at the most."""
    start_s, end_s = words[cut.first_word].start_s, words[cut.last_word].end_s
    if start_s is None or end_s is None:
        return None
    before = words[cut.first_word - 1].end_s if cut.first_word else 0.0
    after = words[cut.last_word + 1].start_s if cut.last_word + 1 < len(words) else None
    begins_s = max(before or 0.0, start_s - MARGIN_S)
    ends_s = end_s + MARGIN_S if after is None else min(after, end_s + MARGIN_S)
    return min(begins_s, start_s), max(ends_s, end_s)


def _numbers(walkaround: Walkaround, recording_id: str) -> frozenset[int]:
    cuts = cut_edits(walkaround, recording_id)
    return frozenset(number for each in cuts for number in range(each.first_word, each.last_word + 1))


def _without(recording: Recording, numbers: frozenset[int]) -> Recording:
    words = tuple(
        word.model_copy(update={"text": CUT, "probability": None}) if number in numbers else word
        for number, word in enumerate(recording.words)
    )
    return recording.model_copy(update={"words": words})


def _cut(piece: Evidence, cuts: dict[str, frozenset[int]]) -> bool:
    numbers = cuts.get(piece.recording, frozenset())
    return not numbers.isdisjoint(range(piece.first_word, piece.last_word + 1))


def _in_time(command: CommandSaid, heard: dict[str, Recording], cuts: dict[str, frozenset[int]]) -> bool:
    """Whether a command was spoken in words cut out."""
    recording = heard.get(command.recording)
    if recording is None or command.start_s is None or command.end_s is None:
        return False
    return any(
        word.start_s < command.end_s and command.start_s < word.end_s
        for word in (recording.words[number] for number in cuts[recording.id])
        if word.start_s is not None and word.end_s is not None
    )


def _said_anew(piece: Evidence, recording: Recording) -> Evidence:
    """The words of a piece with each run of cut ones told once."""
    said: list[str] = []
    for word in recording.words[piece.first_word : piece.last_word + 1]:
        if word.text != CUT or said[-1:] != [CUT]:
            said.append(word.text)
    return piece.model_copy(update={"said": " ".join(said)})


def _bare(finding: Finding) -> Finding:
    """A dropped finding without what was quoted for it: it may have been found in the very words cut out."""
    quoteless = {
        name: tuple(each.model_copy(update={"said": CUT}) for each in getattr(finding, name))
        for name in ("conditions", "measurements", "quoted_prices")
    }
    component = finding.component.model_copy(update={"heard": CUT})
    action = finding.recommendation.model_copy(update={"timing": None, "conditional_on": None})
    none = {"reason": None, "consequence": None, "position": None, "urgency": None, "tests": (), "doubts": ()}
    return finding.model_copy(update={**quoteless, **none, "component": component, "recommendation": action})
