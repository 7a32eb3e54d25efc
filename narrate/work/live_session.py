"""One person speaking: sound in, and out come words, provisional findings, commands, and sentences to say.

Messages are plain dictionaries, as the phone gets them (docs/capture.md). Times are seconds of the run that is being
recorded; `kept` messages are for whoever keeps a session alive when its process ends (work/live_helper.py).
"""

import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import numpy as np

from narrate.find.commands import Spoken, command_in, spoken_commands
from narrate.hear.audio import Samples
from narrate.hear.growing import Growing, PartialWords
from narrate.judge.aloud import read_back, whats_left
from narrate.records.capture import CommandId, Mark
from narrate.records.order import Order
from narrate.records.recording import Word
from narrate.records.walkaround import Finding, Walkaround
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.work.live_aloud import Aloud, Message, ReadBack
from narrate.work.live_runs import Runs
from narrate.work.live_story import Story, concerns_open, span_of, spoken_then, standing

FULL_SCALE = 32_768.0
NOTHING_YET = "Nothing is noted yet."


class LiveSession:
    """One recording while it is spoken. Not for two threads at once."""

    def __init__(
        self,
        hearing: Growing,
        settings: Settings,
        lexicon: Lexicon,
        order: Order | None = None,
        *,
        read_back: ReadBack = "asked",
        so_far: Iterable[Message] = (),
    ) -> None:
        """so_far: what `kept` messages of an earlier session of the same recording held, in order."""
        self._hearing, self._lexicon = hearing, lexicon
        self._inspection = bool(order and order.inspection)
        self._story = Story(settings, lexicon, order)
        self._aloud = Aloud(lexicon, self._story.drive_side, read_back)
        self._runs = Runs()
        self._marks: dict[str, Mark] = {}
        self._began_s = 0.0
        self._shown: Message = {}
        for entry in so_far:
            self._again(entry)
        self._walkaround = self._story.walkaround(self._marks.values())

    @property
    def walkaround(self) -> Walkaround:
        """What was found so far, judged; what was taken back is dropped in it. Evidence counts inner seconds."""
        return self._walkaround

    def begin(self, run: int, at_s: float, read_back: ReadBack) -> list[Message]:
        """What follows is of this run, from this second on; returns what there is to show."""
        told = self._heard(self._hearing.end())
        self._aloud.mode = read_back
        entry = self._runs.begin(run, at_s)
        self._began_s = self._runs.inside(at_s)
        self._shown = {}
        told += [{"type": "kept", "entry": entry}] if entry else []
        told += self._findings()
        self._aloud.forget_unread()
        return told

    def feed(self, samples: bytes, at_s: float) -> list[Message]:
        """Take sound (16-bit whole numbers, little endian, mono, 16 kHz) that begins at a second of the run."""
        whole = np.frombuffer(samples[: len(samples) // 2 * 2], dtype="<i2")
        sound: Samples = whole.astype(np.float32) / FULL_SCALE
        told = self._heard(self._hearing.feed(sound, self._runs.inside(at_s)))
        return told + self._aloud.when_quiet(self._walkaround, self._hearing.quiet_s, self._hearing.until_s)

    def end(self) -> list[Message]:
        """No more sound comes: what is still being spoken is finished."""
        return self._heard(self._hearing.end())

    def ask(self, asked: Mapping[str, Any]) -> list[Message]:
        """Do what was touched: {"type": "command" | "undo" | "answer", …}."""
        at_s = max(self._hearing.until_s, self._began_s)
        if asked["type"] == "command":
            told = self._command(asked["command"], id_=asked.get("id"), at_s=at_s)
        elif asked["type"] == "answer":
            told = self._answer(asked["value"], at_s=at_s)
        else:
            told = self._undo(asked["mark"])
        return told + self._findings()

    def _heard(self, phrases: Iterable[PartialWords]) -> list[Message]:
        told: list[Message] = []
        for phrase in phrases:
            row = {"type": "words", "phrase": phrase.phrase, "text": phrase.text, "final": phrase.final}
            told.append(row | self._runs.times(phrase.start_s, phrase.end_s))
            if phrase.final and phrase.words:
                told += self._finished(phrase)
        return told

    def _finished(self, phrase: PartialWords) -> list[Message]:
        """A phrase is over: an answer, a command, or words in which something may be found."""
        answer = self._aloud.answer(phrase)
        if answer is not None:
            return self._answer(answer, phrase=phrase) + self._findings()
        told: list[Message] = []
        at = 0
        for spoken in self._commands(phrase):
            told += self._said(phrase.words[at : spoken.first])
            words = phrase.words[spoken.first : spoken.last + 1]
            told += self._command(spoken.command, words=words, at_s=phrase.start_s, end_s=phrase.end_s)
            at = spoken.last + 1
        return told + self._said(phrase.words[at:]) + self._findings()

    def _commands(self, phrase: PartialWords) -> Sequence[Spoken]:
        whole = command_in(phrase.words, phrase.before_s, phrase.after_s, self._lexicon)
        if whole:
            return (Spoken(whole, 0, len(phrase.words) - 1),)
        return spoken_commands(phrase.words, self._lexicon)

    def _said(self, words: Sequence[Word]) -> list[Message]:
        if not words:
            return []
        self._story.add(words)
        return [{"type": "kept", "entry": {"words": [word.model_dump(exclude_none=True) for word in words]}}]

    def _command(
        self,
        command: CommandId,
        *,
        words: Sequence[Word] = (),
        id_: str | None = None,
        at_s: float,
        end_s: float | None = None,
    ) -> list[Message]:
        """Carry out a command, spoken or touched; times are inner ones."""
        if words and words[0].start_s is not None and words[-1].end_s is not None:
            at_s, end_s = words[0].start_s, words[-1].end_s
        self._walkaround = self._story.walkaround(self._marks.values())
        last = self._last() if command in ("take_back", "read_back") else None
        span = span_of(last) if last and command == "take_back" else None
        mark = Mark(
            id=id_ or str(uuid.uuid4()),
            what=command,
            at_s=at_s,
            end_s=end_s,
            said=" ".join(word.text for word in words),
            about_start_s=span and span[0],
            about_end_s=span and span[1],
        )
        told = self._keep(mark)
        about = read_back(last, self._lexicon) if last else None
        fields = self._runs.mark(mark)
        told.append({"type": "command", "command": command, "about": about, **fields})
        if command == "next_vehicle":
            self._story.begin_vehicle()
        if command == "read_back":
            told.append({"type": "say", "text": about or NOTHING_YET, "why": "read_back"})
            self._aloud.forget_unread()
        if command == "whats_left":
            left = whats_left(self._walkaround, self._lexicon, self._inspection)
            told.append({"type": "say", "text": left, "why": "left"})
        return told

    def _undo(self, id_: str) -> list[Message]:
        mark = self._marks.get(id_)
        return self._keep(mark.model_copy(update={"undone": True})) if mark else []

    def _keep(self, mark: Mark) -> list[Message]:
        self._marks[mark.id] = mark
        return [{"type": "kept", "entry": {"mark": mark.model_dump(exclude_none=True)}}]

    def _findings(self) -> list[Message]:
        """The list, where it is another than was told last; what is new in it is read back when it is quiet."""
        self._walkaround = self._story.walkaround(self._marks.values())
        listed = sorted(self._walkaround.findings, key=lambda f: span_of(f) or (0.0, 0.0))
        rows = [self._row(finding) for finding in listed]
        shown = {"type": "findings", "findings": rows, "concerns_open": concerns_open(self._walkaround)}
        if shown == self._shown or (not self._shown and not rows and not shown["concerns_open"]):
            return []
        self._aloud.listed({row["id"]: row["line"] for row in rows if not row["taken_back"]})
        self._shown = shown
        return [shown]

    def _row(self, finding: Finding) -> Message:
        span = span_of(finding) or (0.0, 0.0)
        return {
            "id": finding.id,
            "line": read_back(finding, self._lexicon),
            "status": finding.status,
            **self._runs.times(*span),
            "taken_back": finding.review.state == "dropped",
        }

    def _answer(self, value: str, *, phrase: PartialWords | None = None, at_s: float = 0.0) -> list[Message]:
        """Lay an answer to the open question in."""
        question, self._aloud.question = self._aloud.question, None
        asked = next((f for f in self._walkaround.findings if question and f.id == question.finding), None)
        span = span_of(asked) if asked else None
        if question is None or asked is None or span is None:
            return []
        mark = Mark(
            id=str(uuid.uuid4()),
            what="answer",
            at_s=phrase.start_s if phrase else at_s,
            end_s=phrase.end_s if phrase else None,
            said=phrase.text if phrase else "",
            about_start_s=span[0],
            about_end_s=span[1],
            field=question.field,
            value=value,
        )
        told = self._keep(mark)
        self._walkaround = self._story.walkaround(self._marks.values())
        now = spoken_then(self._walkaround.findings, mark) or asked
        text = read_back(now, self._lexicon)
        return [*told, {"type": "answered", "text": text, "mark": self._runs.mark(mark) | {"what": "answer"}}]

    def _last(self) -> Finding | None:
        """The finding told last that still stands."""
        return max(standing(self._walkaround), key=lambda f: (span_of(f) or (0.0, 0.0))[1], default=None)

    def _again(self, entry: Message) -> None:
        """What an earlier session of the same recording kept."""
        if "words" in entry:
            words = [Word.model_validate(word) for word in entry["words"]]
            self._story.add(words)
            self._runs.saw(words[-1].end_s or 0.0)
        elif "mark" in entry:
            mark = Mark.model_validate(entry["mark"])
            self._marks[mark.id] = mark
            if mark.what == "next_vehicle" and not mark.undone:
                self._story.begin_vehicle()
        elif "field" in entry:
            self._aloud.again(entry)
        else:
            self._runs.again(entry)
