"""Words in, walkaround out: the stages run over every recording of one vehicle."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from narrate.find.commands import next_vehicle_starts
from narrate.find.concerns import find_concerns, with_answers
from narrate.find.draft import Draft, Group
from narrate.find.findings import Context, make_findings
from narrate.find.heading import Heading, read_heading
from narrate.find.heading_values import with_heading, with_split
from narrate.find.leftovers import list_unplaced
from narrate.find.scene import Scene
from narrate.find.second_vehicle import vehicle_starts
from narrate.find.stages import JOINING, NEXT_VEHICLE, READING, STAGES, Stages, go_on, run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.records.capture import CommandSaid
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.walkaround import Concern, Evidence, Finding, MadeBy, Unplaced, Vehicle, Walkaround
from narrate.words.lexicon import Lexicon

NAMED_WITHIN = 15
"""How many words behind the command for the next vehicle that vehicle is named."""


@dataclass(frozen=True, slots=True)
class Mined:
    """What one recording gave, or the part of it about one vehicle; `groups` are what the findings were made of."""

    groups: tuple[Group, ...]
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
            mined = moved_by(mine(part.draft, words, context, ordered), part.first)
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
    commands = [c for recording, pieces in parts for c in commands_told(recording, pieces)]
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
        commands=tuple(c.model_copy(update={"id": f"k{number}"}) for number, c in enumerate(commands, 1)),
    )
    for recording, (first, *others) in parts:
        walkaround = with_heading(walkaround, first.heading, recording, lexicon)
        ends = [*(other.first for other in others[1:]), len(recording.words)]
        for other, end in zip(others, ends, strict=False):
            walkaround = with_split(walkaround, other.heading, recording, other.first, end - 1)
    return walkaround


def parts_of(recorded: Sequence[Word], words: Vocabulary) -> list[Part]:
    """The words of a recording, cut where another vehicle plainly begins: nothing is joined or merged across."""
    read = run_stages(recorded, words, READING)
    parts = cuts(read, words)
    if len(parts) == 1:
        # Nearly always: what was read to look for a cut need not be read again.
        return [_part(0, go_on(read, words, JOINING), words)]
    return [_part(first, run_stages(recorded[first:end], words, stages), words) for first, end, stages in parts]


def cuts(read: Draft, words: Vocabulary) -> list[tuple[int, int, Stages]]:
    """(first word, the word behind the last, stages to run) of each vehicle's part of a recording that was read."""
    told = next_vehicle_starts(read)
    starts = [read.tokens[token].first_word for token in vehicle_starts(read, words)]
    # "Next vehicle", told to narrate, and then to say which: that is one beginning.
    starts = sorted({*told, *(start for start in starts if not any(0 <= start - at <= NAMED_WITHIN for at in told))})
    ends = pairwise([0, *starts, len(read.words)])
    return [(first, end, NEXT_VEHICLE if first else STAGES) for first, end in ends]


def commands_told(recording: Recording, parts: Iterable[Part]) -> Iterator[CommandSaid]:
    """The commands in a recording; what comes of them, judging says."""
    for part in parts:
        for command in part.draft.commands:
            first, last = part.first + command.first_word, part.first + command.last_word
            words = recording.words[first : last + 1]
            yield CommandSaid(
                id=command.id,
                command=command.key,
                recording=recording.id,
                start_s=words[0].start_s,
                end_s=words[-1].end_s,
                said=" ".join(word.text for word in words),
                first_word=first,
                last_word=last,
            )


def _part(first: int, draft: Draft, words: Vocabulary) -> Part:
    return Part(first, draft, read_heading(draft, words).moved(first))


def moved_by(mined: Mined, by: int) -> Mined:
    """The same with evidence that counts the words of the whole recording."""
    if not by:
        return mined

    def moved(pieces: tuple[Evidence, ...]) -> dict[str, tuple[Evidence, ...]]:
        numbers = [{"first_word": e.first_word + by, "last_word": e.last_word + by} for e in pieces]
        return {"evidence": tuple(e.model_copy(update=n) for e, n in zip(pieces, numbers, strict=True))}

    return Mined(
        mined.groups,
        tuple(c.model_copy(update=moved(c.evidence)) for c in mined.concerns),
        tuple(f.model_copy(update=moved(f.evidence)) for f in mined.findings),
        tuple(u.model_copy(update=moved(u.evidence)) for u in mined.unplaced),
    )


def mine(draft: Draft, words: Vocabulary, context: Context, ordered: Sequence[str] = ()) -> Mined:
    """From the finished draft of one recording to its records."""
    scene = Scene(draft, words)
    groups, findings = make_findings(scene, context)
    answered = find_concerns(scene, groups, ordered, context.recording)
    unplaced = list_unplaced(scene, groups, findings, context.recording)
    return Mined(groups, answered.concerns, with_answers(findings, groups, answered), unplaced)


def text_recording(text: str, name: str = "text") -> Recording:
    """Typed words as a recording without audio: no times, no probabilities."""
    return Recording(name=name, words=tuple(Word(text=word) for word in text.split()))
