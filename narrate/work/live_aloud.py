"""What is said to the technician, and when: only in silence, each thing once, and nothing that was not asked for."""

from collections.abc import Mapping
from typing import Any, Literal

from narrate.hear.growing import PartialWords
from narrate.judge.aloud import Question, answer_in, question_about
from narrate.records.walkaround import Finding, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.work.live_story import span_of, standing

Message = dict[str, Any]
ReadBack = Literal["each", "asked", "never"]

READ_AFTER_S = 1.2
"""Silence after which a finding is read back: nobody is to be talked over."""
ASK_AFTER_S = 1.8
ANSWER_WITHIN_S = 20.0
"""A question is open this long; later words are no answer to it."""
ASK_ABOUT_S = 45.0
"""What was said longer ago is not asked about: the technician has gone on."""
READ_AT_ONCE = 3


class Aloud:
    """Reading back and asking back for one recording."""

    def __init__(self, lexicon: Lexicon, drive_side: str, mode: ReadBack) -> None:
        self.mode: ReadBack = mode
        self.question: Question | None = None
        self._lexicon, self._drive_side = lexicon, drive_side
        self._asked_s = 0.0
        self._asked: list[tuple[float, str]] = []
        self._lines: dict[str, str] = {}
        self._read: dict[str, str] = {}

    def listed(self, lines: Mapping[str, str]) -> None:
        """Take the findings that stand now, id -> line."""
        self._lines = dict(lines)

    def forget_unread(self) -> None:
        """What is listed now needs no reading back any more."""
        self._read = dict(self._lines)

    def again(self, entry: Message) -> None:
        """Take in that a question was asked before."""
        self._asked.append((entry["asked_about_s"], entry["field"]))

    def when_quiet(self, walkaround: Walkaround, quiet_s: float, now_s: float) -> list[Message]:
        """What there is to say after so many seconds of silence."""
        if self.question and now_s - self._asked_s > ANSWER_WITHIN_S:
            self.question = None
        told = self._reading() if quiet_s >= READ_AFTER_S else []
        if quiet_s >= ASK_AFTER_S and self.question is None:
            told += self._asking(walkaround, now_s)
        return told

    def answer(self, phrase: PartialWords) -> str | None:
        """What a phrase answers to the open question; None where there is none or it is none."""
        if self.question is None or phrase.start_s < self._asked_s:
            return None
        return answer_in(phrase.words, self.question)

    def _reading(self) -> list[Message]:
        fresh = [line for id_, line in self._lines.items() if self._read.get(id_) != line]
        self.forget_unread()
        if self.mode != "each" or not fresh:
            return []
        return [{"type": "say", "text": ". ".join(fresh[-READ_AT_ONCE:]), "why": "read_back"}]

    def _asking(self, walkaround: Walkaround, now_s: float) -> list[Message]:
        """The one question that is worth asking now."""
        for finding in reversed(standing(walkaround)):
            span = span_of(finding)
            if span is None or now_s - span[1] > ASK_ABOUT_S:
                continue
            question = question_about(finding, self._lexicon, drive_side=self._drive_side)
            if question is None or self._was_asked(finding, question.field):
                continue
            entry = {"asked_about_s": span[1], "field": question.field}
            self.again(entry)
            self.question, self._asked_s = question, now_s
            told: list[Message] = [
                {"type": "kept", "entry": entry},
                {
                    "type": "question",
                    "finding": finding.id,
                    "text": question.text,
                    "answers": list(question.answers),
                },
            ]
            return [*told, {"type": "say", "text": question.text, "why": "question"}] if self.mode != "never" else told
        return []

    def _was_asked(self, finding: Finding, field: str) -> bool:
        """By when it was spoken, for a finding may get another id."""
        span = span_of(finding)
        return span is not None and any(
            span[0] <= second <= span[1] and asked == field for second, asked in self._asked
        )
