"""What has been said so far and what was found in it: only the last words are searched anew.

Findings further back stay as they were found. Everything here is provisional: the list that counts is made from the
whole recording.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from narrate.find.mining import find_findings
from narrate.judge.answered import with_answer
from narrate.pipeline import judge_walkaround, made_by
from narrate.records.capture import Mark
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Review
from narrate.records.walkaround import Concern, Evidence, Finding, MadeBy, Walkaround
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon

MOST_WORDS = 150
"""Words that are searched at once: a twentieth of a second with them, a quarter with twice as many."""
OPEN_WORDS = 40
"""Words of which findings may still change when the search moves on."""
CONTEXT_WORDS = 60
"""Words before these that are read again, for what was announced there, but whose findings stay."""
RECORDING = "r1"
SPOKEN = "spoken"


@dataclass(frozen=True)
class _Settled:
    """What lies before the words that are still searched."""

    first: int = 0
    """Word from which on is searched."""
    open: int = 0
    """Word from which on findings may change."""
    findings: tuple[Finding, ...] = ()
    concerns: tuple[Concern, ...] = ()
    """Spoken ones, with ids behind the order's."""


class Story:
    """One person's words so far, and the walkaround they make."""

    def __init__(self, settings: Settings, lexicon: Lexicon, order: Order | None = None) -> None:
        self._order = order or Order()
        self._lexicon = lexicon
        self._market = self._order.market or settings.market
        self._settings = settings.model_copy(update={"market": self._market})
        self.drive_side = self._order.drive_side or self._settings.driver_sits
        self._made_by: MadeBy | None = None
        self._words: list[Word] = []
        self._phrases: list[int] = []
        self._settled = _Settled()
        self._open: tuple[Finding, ...] = ()
        self._concerns: tuple[Concern, ...] = ()
        self._used = 0

    @property
    def words(self) -> Sequence[Word]:
        """All words so far, without commands and answers."""
        return self._words

    def add(self, words: Iterable[Word]) -> None:
        """Take the words of a phrase and search again what is open."""
        first = len(self._words)
        self._words += words
        if len(self._words) == first:
            return
        self._phrases.append(first)
        self._search()
        if len(self._words) - self._settled.first > MOST_WORDS:
            self._settle(self._phrase_at(len(self._words) - OPEN_WORDS), CONTEXT_WORDS)

    def begin_vehicle(self) -> None:
        """What follows is about another vehicle: nothing before it is added to."""
        self._settle(len(self._words), 0)

    def walkaround(self, marks: Iterable[Mark] = ()) -> Walkaround:
        """All findings so far, judged, with answers laid in and what was taken back dropped."""
        whole = Walkaround(
            made_by=self._made(),
            order_number=self._order.number,
            market=self._market,
            recordings=(Recording(id=RECORDING, name="live", words=tuple(self._words)),),
            concerns=self._concerns or self._ordered(),
            findings=(*self._settled.findings, *self._open),
        )
        standing = [mark for mark in marks if not mark.undone]
        for mark in standing:
            if mark.what == "answer":
                whole = with_answer(whole, mark, RECORDING)
        gone = {f.id for mark in standing if mark.what == "take_back" and (f := spoken_then(whole.findings, mark))}
        dropped = Review(state="dropped", by=SPOKEN)
        findings = tuple(f.model_copy(update={"review": dropped}) if f.id in gone else f for f in whole.findings)
        whole = whole.model_copy(update={"findings": findings})
        return judge_walkaround(whole, settings=self._settings, lexicon=self._lexicon, order=self._order)

    def _search(self) -> None:
        """Find again what is said from the first searched word on; findings that begin among settled words stay."""
        here = self._settled
        told = (*self._order.concerns, *(concern.text for concern in here.concerns))
        found = find_findings(
            [Recording(id=RECORDING, name="live", words=tuple(self._words[here.first :]))],
            lexicon=self._lexicon,
            made_by=self._made(),
            market=self._market,
            drive_side=self.drive_side,
            order=self._order.model_copy(update={"concerns": told}),
        )
        moved = (f.model_copy(update={"evidence": _moved(f.evidence, here.first)}) for f in found.findings)
        fresh = [finding for finding in moved if first_word(finding) >= here.open]
        self._open = self._named(sorted(fresh, key=first_word))
        spoken = {concern.id: concern for concern in here.concerns}
        heard = (c.model_copy(update={"evidence": _moved(c.evidence, here.first)}) for c in found.concerns)
        # A concern that was told among settled words is settled too, or was told again by its first words.
        self._concerns = tuple(
            spoken.get(concern.id, concern)
            for concern in heard
            if concern.id in spoken or not concern.evidence or concern.evidence[-1].first_word >= here.open
        )

    def _named(self, fresh: Sequence[Finding]) -> tuple[Finding, ...]:
        """The findings with the ids of those that they were before, as far as they can be told."""
        left = {finding.id: finding for finding in self._open}
        named = []
        for finding in fresh:
            same = max(left.values(), key=lambda old: _likeness(old, finding), default=None)
            if same is not None and _likeness(same, finding) > (False, 0):
                del left[same.id]
                name = same.id
            else:
                self._used += 1
                name = f"f{self._used}"
            named.append(finding.model_copy(update={"id": name}))
        return tuple(named)

    def _settle(self, open_: int, context: int) -> None:
        """Search no findings before a word any more, and read no more than some words before it."""
        stay = tuple(finding for finding in self._open if first_word(finding) < open_)
        self._open = self._open[len(stay) :]
        count = len(self._order.concerns)
        spoken = tuple(c for c in self._concerns[count:] if not c.evidence or c.evidence[0].first_word < open_)
        # Concerns are numbered: one that began later must not stand before one that is settled.
        whole = spoken == self._concerns[count : count + len(spoken)]
        self._settled = replace(
            self._settled,
            first=self._phrase_at(open_ - context) if context else open_,
            open=open_,
            findings=(*self._settled.findings, *stay),
            concerns=spoken if whole else self._settled.concerns,
        )

    def _phrase_at(self, word: int) -> int:
        """The first word of the phrase that a word belongs to."""
        return max((first for first in self._phrases if first <= word), default=0)

    def _ordered(self) -> tuple[Concern, ...]:
        return tuple(Concern(id=f"c{n}", text=text, origin="order") for n, text in enumerate(self._order.concerns, 1))

    def _made(self) -> MadeBy:
        self._made_by = self._made_by or made_by(self._settings, self._lexicon)
        return self._made_by


def first_word(finding: Finding) -> int:
    """Where a finding begins."""
    return min((piece.first_word for piece in finding.evidence), default=0)


def span_of(finding: Finding) -> tuple[float, float] | None:
    """From and to which second a finding was spoken."""
    pieces = [(e.start_s, e.end_s) for e in finding.evidence if e.start_s is not None and e.end_s is not None]
    return (min(start for start, _ in pieces), max(end for _, end in pieces)) if pieces else None


def spoken_then(findings: Iterable[Finding], mark: Mark) -> Finding | None:
    """The finding most of which was spoken in the seconds that a mark is about; the latest at a draw."""
    if mark.about_start_s is None or mark.about_end_s is None:
        return None
    start_s, end_s = mark.about_start_s, mark.about_end_s
    best, most_s = None, 0.0
    for finding in findings:
        pieces = ((e.start_s, e.end_s) for e in finding.evidence if e.start_s is not None and e.end_s is not None)
        common_s = sum(max(0.0, min(end, end_s) - max(start, start_s)) for start, end in pieces)
        if common_s > 0 and common_s >= most_s:
            best, most_s = finding, common_s
    return best


def standing(walkaround: Walkaround) -> list[Finding]:
    """The findings that were not taken back."""
    return [finding for finding in walkaround.findings if finding.review.state != "dropped"]


def concerns_open(walkaround: Walkaround) -> list[str]:
    """What the customer complained of and nothing answers yet."""
    return [concern.text for concern in walkaround.concerns if concern.state != "answered"]


def _moved(pieces: Sequence[Evidence], by: int) -> tuple[Evidence, ...]:
    return tuple(e.model_copy(update={"first_word": e.first_word + by, "last_word": e.last_word + by}) for e in pieces)


def _likeness(old: Finding, new: Finding) -> tuple[bool, int]:
    """Whether they are of the same part, and how many words they share; no words is no likeness."""
    shared = len(_word_numbers(old) & _word_numbers(new))
    return (old.component.id == new.component.id, shared) if shared else (False, 0)


def _word_numbers(finding: Finding) -> set[int]:
    return {number for e in finding.evidence for number in range(e.first_word, e.last_word + 1)}
