"""What spoken and touched commands do to the list, each so that a person can undo it on the page."""

from bisect import bisect_right
from collections.abc import Container, Iterable, Iterator, Mapping, Sequence

from narrate.judge.numbering import new_ids, with_ids_used
from narrate.judge.quoting import quoted
from narrate.records.capture import CommandSaid
from narrate.records.recording import Recording
from narrate.records.reviewed import Review
from narrate.records.walkaround import Concern, Doubt, Evidence, Finding, Suggestion, Unplaced, Walkaround

SPOKEN = "spoken"
"""Who dropped a finding that the technician took back while speaking."""
REASONS = {"mark": "marked by the technician", "photograph": "a photograph was asked for here"}
NOTHING_BEFORE = "Nothing was said before it that could be taken back."
UNDONE = "Undone by the technician."
TOLD = {
    "read_back": "The last finding was read out.",
    "whats_left": "What was still open was told.",
    "done": "The recording was ended.",
}
SOURCE = "what the technician told narrate"
SAME_BREATH = 6
"""Words that fit nowhere, this near behind a finding, belong to what was said of it."""
Span = tuple[float, float]
"""From and to which second of the recording something was said."""


def carry_out(walkaround: Walkaround, about: Mapping[str, Span] | None = None) -> Walkaround:
    """Do what the commands say of which nothing came yet, in the order they were given; doing it twice does no more.

    about: command -> when the finding was spoken that it is about, where that is known. Findings that were taken back
    are dropped, by "spoken". Whoever calls this judges after it.
    """
    spans = about or {}
    for command in sorted(walkaround.commands, key=lambda each: _when(walkaround, each)):
        if not command.came_of_it:
            walkaround = _done(walkaround, command, spans.get(command.id))
    return walkaround


def undo(walkaround: Walkaround, ids: Container[str]) -> Walkaround:
    """The walkaround as if these commands had not been carried out yet; ids that this frees are not used again."""
    about = {command.about for command in walkaround.commands if command.id in ids}
    if not about:
        return walkaround
    made = {u.id for u in walkaround.unplaced if u.id in about} | {
        s.id for s in walkaround.suggestions if s.id in about
    }
    commands = (
        c.model_copy(update={"about": None, "came_of_it": ""}) if c.id in ids else c for c in walkaround.commands
    )
    return with_ids_used(walkaround, letters=("u", "s")).model_copy(
        update={
            "findings": tuple(_restored(f) if f.id in about else f for f in walkaround.findings),
            "unplaced": tuple(u for u in walkaround.unplaced if u.id not in made),
            "suggestions": tuple(s for s in walkaround.suggestions if s.id not in made),
            "commands": tuple(commands),
        }
    )


def words_between(recording: Recording, start_s: float, end_s: float) -> tuple[int, int] | None:
    """First and last word spoken at least half within some seconds, else the word spoken last before them."""
    timed = [(n, w.start_s, w.end_s) for n, w in enumerate(recording.words) if w.start_s is not None and w.end_s]
    within = [n for n, start, end in timed if start_s <= (start + end) / 2 <= end_s]
    if within:
        return within[0], within[-1]
    number = bisect_right([start for _, start, _ in timed], start_s) - 1
    return (timed[max(number, 0)][0],) * 2 if timed else None


def evidence_at(recording: Recording, first: int, last: int) -> Evidence:
    """The words from `first` to `last` of a recording."""
    words = recording.words[first : last + 1]
    said = " ".join(word.text for word in words)
    return Evidence(
        recording=recording.id, first_word=first, last_word=last,
        start_s=words[0].start_s, end_s=words[-1].end_s, said=said,
    )  # fmt: skip


def _when(walkaround: Walkaround, command: CommandSaid) -> tuple[int, float, int]:
    order = [recording.id for recording in walkaround.recordings]
    number = order.index(command.recording) if command.recording in order else len(order)
    return number, command.start_s or 0.0, command.first_word or 0


def _done(walkaround: Walkaround, command: CommandSaid, about: Span | None) -> Walkaround:
    recording = next((r for r in walkaround.recordings if r.id == command.recording), None)
    place = _place(command, recording) if recording else None
    if command.command == "take_back":
        return _take_back(walkaround, command, place, about)
    if command.command in REASONS:
        return _mark(walkaround, command, recording, place)
    if command.command == "next_vehicle":
        return _next_vehicle(walkaround, command, recording, place)
    return _came_of(walkaround, command, TOLD[command.command])


def _place(command: CommandSaid, recording: Recording) -> tuple[int, int] | None:
    """The words it was said in; where they were not heard as such, those at its time, or the last before it."""
    if command.first_word is not None and command.last_word is not None:
        return command.first_word, command.last_word
    if command.start_s is None or not recording.words:
        return None
    return words_between(recording, command.start_s, command.end_s or command.start_s)


def _take_back(
    walkaround: Walkaround, command: CommandSaid, place: tuple[int, int] | None, about: Span | None
) -> Walkaround:
    """Drop the finding said last before it, or at the time it is about."""
    at = place[0] if place and command.first_word is not None else place[1] + 1 if place else 0
    standing = [f for f in walkaround.findings if f.review.state != "dropped"]
    if about:
        ranked = [(_seconds_in(f.evidence, command, about), f) for f in standing]
        found = max(ranked, key=lambda each: each[0], default=None)
        finding = found[1] if found and found[0] > 0 else None
        nothing = "What was taken back is not on this list."
    else:
        finding = max(standing, key=lambda f: _said_last(f.evidence, command, at), default=None)
        finding = finding if finding and _said_last(finding.evidence, command, at) >= (0, 0) else None
        nothing = NOTHING_BEFORE
        if other := _said_since(walkaround, command, at, finding):
            return _came_of(walkaround, command, f"'{other}' was said last and is no finding; nothing was taken back.")
    if finding is None:
        return _came_of(walkaround, command, nothing)
    if _told_apart(finding, walkaround):
        changed = _doubted(finding, f"the technician took back what was said last of it ({_heard(command)})")
        text = f"The {finding.component.name} was told of more than once; look at what still holds."
        return _came_of(_with(walkaround, changed), command, text, finding.id)
    review = Review(state="dropped", by=SPOKEN, why=f"taken back ({_heard(command)})", was=finding.review.state)
    text = f"Took back the {finding.component.name}: {quoted(finding)}."
    return _came_of(_with(walkaround, finding.model_copy(update={"review": review})), command, text, finding.id)


def _mark(
    walkaround: Walkaround, command: CommandSaid, recording: Recording | None, place: tuple[int, int] | None
) -> Walkaround:
    made = Unplaced(
        id=next(new_ids(walkaround, "u")),
        why=f"{REASONS[command.command]} ({_heard(command)})",
        evidence=(evidence_at(recording, *place),) if recording and place else (),
    )
    text = "Marked here." if command.command == "mark" else "A photograph was asked for here."
    return _came_of(walkaround.model_copy(update={"unplaced": (*walkaround.unplaced, made)}), command, text, made.id)


def _next_vehicle(
    walkaround: Walkaround, command: CommandSaid, recording: Recording | None, place: tuple[int, int] | None
) -> Walkaround:
    """Offer to cut the recording behind it, unless that is offered already."""
    first = place[1] + 1 if place else 0
    if recording is None or place is None or not 0 < place[0] or first >= len(recording.words):
        return _came_of(walkaround, command, "Nothing was said on one side of it; there is nothing to part.")
    known = (
        s.id
        for s in walkaround.suggestions
        for e in s.evidence
        if s.kind == "split" and e.recording == recording.id and e.first_word == first
    )
    text = "Another vehicle begins here; part the list in two if so."
    if offered := next(known, None):
        return _came_of(walkaround, command, text, offered)
    made = Suggestion(
        id=next(new_ids(walkaround, "s")),
        kind="split",
        text="The technician told narrate that another vehicle begins here; make these findings a walkaround of "
        "their own if so.",
        source=SOURCE,
        evidence=(evidence_at(recording, first, len(recording.words) - 1),),
    )
    return _came_of(
        walkaround.model_copy(update={"suggestions": (*walkaround.suggestions, made)}), command, text, made.id
    )


def _came_of(walkaround: Walkaround, command: CommandSaid, text: str, about: str | None = None) -> Walkaround:
    changed = command.model_copy(update={"came_of_it": text, "about": about})
    commands = tuple(changed if c.id == command.id else c for c in walkaround.commands)
    return walkaround.model_copy(update={"commands": commands})


def _with(walkaround: Walkaround, finding: Finding) -> Walkaround:
    findings = tuple(finding if f.id == finding.id else f for f in walkaround.findings)
    return walkaround.model_copy(update={"findings": findings})


def _heard(command: CommandSaid) -> str:
    return f"'{command.said}'" if command.said else "by touch"


def _pieces(evidence: Iterable[Evidence], command: CommandSaid, at: int) -> Iterator[Evidence]:
    return (e for e in evidence if e.recording == command.recording and e.last_word < at)


def _said_last(evidence: Iterable[Evidence], command: CommandSaid, at: int) -> tuple[int, int]:
    """(last word before the command, first word of that piece), for the one said last to come out first."""
    return max(((e.last_word, e.first_word) for e in _pieces(evidence, command, at)), default=(-1, -1))


def _said_since(walkaround: Walkaround, command: CommandSaid, at: int, finding: Finding | None) -> str | None:
    """What else was said between the finding and the command: a concern, or words that fit nowhere."""
    end = _said_last(finding.evidence, command, at)[0] if finding else -1
    made = {each.about for each in walkaround.commands}
    told: tuple[Unplaced | Concern, ...] = (*walkaround.unplaced, *walkaround.concerns)
    others: Sequence[Evidence] = [
        e
        for each in told
        if each.id not in made
        for e in _pieces(each.evidence, command, at)
        if e.first_word > end + SAME_BREATH
    ]
    return max(others, key=lambda e: e.last_word).said if others else None


def _seconds_in(evidence: Iterable[Evidence], command: CommandSaid, about: Span) -> float:
    """How much of a finding was said within some seconds."""
    return sum(
        max(0.0, min(e.end_s, about[1]) - max(e.start_s, about[0]))
        for e in evidence
        if e.recording == command.recording and e.start_s is not None and e.end_s is not None
    )


def _told_apart(finding: Finding, walkaround: Walkaround) -> bool:
    """Whether another finding was told of between two stretches that it was told in."""
    spans = [(e.recording, e.first_word, e.last_word) for e in finding.evidence]
    first, last = min(spans, key=lambda s: s[1]), max(spans, key=lambda s: s[2])
    between = (
        e
        for other in walkaround.findings
        if other.id != finding.id
        for e in other.evidence
        if e.recording == last[0] and first[2] < e.first_word and e.last_word < last[1]
    )
    return first[0] != last[0] or next(between, None) is not None


def _doubted(finding: Finding, why: str) -> Finding:
    return finding.model_copy(update={"doubts": (*finding.doubts, Doubt(field="status", why=why))})


def _restored(finding: Finding) -> Finding:
    review = finding.review
    if review.by == SPOKEN:
        finding = finding.model_copy(update={"review": Review(state=review.was or "unreviewed")})
    doubts = tuple(d for d in finding.doubts if not d.why.startswith("the technician took back"))
    return finding.model_copy(update={"doubts": doubts})
