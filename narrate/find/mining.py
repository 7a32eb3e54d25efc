"""Words in, walkaround out: the stages run over every recording of one vehicle."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from narrate.find.concerns import find_concerns, with_answers
from narrate.find.draft import Draft
from narrate.find.findings import Context, make_findings
from narrate.find.heading import Heading, hush_heading, read_heading
from narrate.find.heading_values import with_heading, with_split
from narrate.find.leftovers import list_unplaced
from narrate.find.scene import Scene
from narrate.find.second_vehicle import hush_opening, vehicle_starts
from narrate.find.stages import READING, STAGES, Stage, run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Concern, Evidence, Finding, MadeBy, Unplaced, Vehicle, Walkaround
from narrate.words.lexicon import Lexicon

_AMOUNTS = [name for name, _ in READING].index("amounts") + 1
_HEARD: tuple[tuple[str, Stage], ...] = (*READING[:_AMOUNTS], ("heading", hush_heading), *READING[_AMOUNTS:])
"""What the words alone tell, the numbers of the heading set aside before anything is made of them."""
_BEGUN: tuple[tuple[str, Stage], ...] = (*_HEARD[:_AMOUNTS], ("opening", hush_opening), *_HEARD[_AMOUNTS:])
"""The same for the words about a second vehicle."""
_JOINED = STAGES[len(READING) :]


@dataclass(frozen=True, slots=True)
class Mined:
    """What one recording gave, or the part of it about one vehicle."""

    concerns: tuple[Concern, ...]
    findings: tuple[Finding, ...]
    unplaced: tuple[Unplaced, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """The words about one vehicle in one recording, from word `first` of it on, read and joined."""

    first: int
    draft: Draft
    heading: Heading


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
    parts: list[tuple[Recording, list[Part]]] = []
    for recording in recordings:
        if not recording.minable:
            continue
        context = Context(market, drive_side, recording.id)
        parts.append((recording, parts_of(recording.words, words)))
        for part in parts[-1][1]:
            mined = _moved(mine(part.draft, words, context, ordered), part.first)
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
    walkaround = Walkaround(
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
    for recording, (first, *others) in parts:
        walkaround = with_heading(walkaround, first.heading, recording, lexicon)
        ends = [*(other.first for other in others[1:]), len(recording.words)]
        for other, end in zip(others, ends, strict=False):
            walkaround = with_split(walkaround, other.heading, recording, other.first, end - 1)
    return walkaround


def parts_of(recorded: Sequence[Word], words: Vocabulary) -> list[Part]:
    """The words of a recording, cut where another vehicle plainly begins: nothing is joined or merged across."""
    read = run_stages(recorded, words, _HEARD)
    starts = [read.tokens[token].first_word for token in vehicle_starts(read, words)]
    if not starts:
        return [_part(0, read, words)]
    return [
        _part(first, run_stages(recorded[first:end], words, _BEGUN if first else _HEARD), words)
        for first, end in pairwise([0, *starts, len(recorded)])
    ]


def _part(first: int, draft: Draft, words: Vocabulary) -> Part:
    heading = read_heading(draft, words).moved(first)
    for _, stage in _JOINED:
        draft = stage(draft, words)
    return Part(first, draft, heading)


def _moved(mined: Mined, by: int) -> Mined:
    """The same with evidence that counts the words of the whole recording."""
    if not by:
        return mined

    def moved(pieces: tuple[Evidence, ...]) -> dict[str, tuple[Evidence, ...]]:
        numbers = [{"first_word": e.first_word + by, "last_word": e.last_word + by} for e in pieces]
        return {"evidence": tuple(e.model_copy(update=n) for e, n in zip(pieces, numbers, strict=True))}

    return Mined(
        tuple(c.model_copy(update=moved(c.evidence)) for c in mined.concerns),
        tuple(f.model_copy(update=moved(f.evidence)) for f in mined.findings),
        tuple(u.model_copy(update=moved(u.evidence)) for u in mined.unplaced),
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
