"""Words in, walkaround out: the stages run over every recording of one vehicle."""

from collections.abc import Sequence
from dataclasses import dataclass

from narrate.find.concerns import find_concerns, with_answers
from narrate.find.draft import Draft
from narrate.find.findings import Context, make_findings
from narrate.find.leftovers import list_unplaced
from narrate.find.scene import Scene
from narrate.find.stages import run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Concern, Finding, MadeBy, Unplaced, Vehicle, Walkaround
from narrate.words.lexicon import Lexicon


@dataclass(frozen=True, slots=True)
class Mined:
    """What one recording gave."""

    concerns: tuple[Concern, ...]
    findings: tuple[Finding, ...]
    unplaced: tuple[Unplaced, ...]


def find_findings(
    recordings: Sequence[Recording],
    *,
    lexicon: Lexicon,
    made_by: MadeBy,
    market: str = "us",
    drive_side: str = "left",
    order: Order | None = None,
) -> Walkaround:
    """The walkaround of one vehicle: concerns, findings and what was not understood, with their evidence.

    Same words, same lexicon, same result. Recordings that must not be mined add no findings.
    """
    order = order or Order()
    words = vocabulary(lexicon)
    concerns: list[Concern] = []
    findings: list[Finding] = []
    unplaced: list[Unplaced] = []
    ordered = order.concerns
    for recording in recordings:
        if not recording.minable:
            continue
        context = Context(market, drive_side, recording.id)
        mined = mine(run_stages(recording.words, words), words, context, ordered)
        # The order's concerns are taken up once, by the first recording with words in it.
        ordered = ()
        # Ids count through all recordings of a walkaround; concerns keep the numbers the findings refer to.
        renamed = {c.id: f"c{len(concerns) + n}" for n, c in enumerate(mined.concerns, 1)}
        concerns += [c.model_copy(update={"id": renamed[c.id]}) for c in mined.concerns]
        for finding in mined.findings:
            answers = tuple(a.model_copy(update={"concern": renamed[a.concern]}) for a in finding.answers)
            findings.append(finding.model_copy(update={"id": f"f{len(findings) + 1}", "answers": answers}))
        unplaced += [u.model_copy(update={"id": f"u{len(unplaced) + n}"}) for n, u in enumerate(mined.unplaced, 1)]
    if not concerns:
        concerns = [Concern(id=f"c{n}", text=text, origin="order") for n, text in enumerate(ordered, 1)]
    return Walkaround(
        made_by=made_by,
        order_number=order.number,
        technician=order.technician,
        market=market,
        vehicle=Vehicle.model_validate({**order.vehicle.model_dump(), "drive_side": drive_side}),
        recordings=tuple(recordings),
        concerns=tuple(concerns),
        findings=tuple(findings),
        unplaced=tuple(unplaced),
    )


def mine(draft: Draft, words: Vocabulary, context: Context, ordered: Sequence[str] = ()) -> Mined:
    """From the finished draft of one recording to its records."""
    scene = Scene(draft, words)
    groups, findings = make_findings(scene, context)
    answered = find_concerns(draft, words, groups, ordered, context.recording)
    unplaced = list_unplaced(scene, groups, findings, context.recording)
    return Mined(answered.concerns, with_answers(findings, groups, answered), unplaced)


def text_recording(text: str, name: str = "text") -> Recording:
    """Typed words as a recording without audio: no times, no probabilities."""
    return Recording(name=name, words=tuple(Word(text=word) for word in text.split()))
