"""What else was said of a part, in the technician's words: reasons, consequences, tests, timing and urgency."""

from collections.abc import Iterable
from typing import Literal

from narrate.find.draft import Mention
from narrate.find.evidence import said_tokens
from narrate.find.fields import Said
from narrate.find.scene import Scene
from narrate.records.walkaround import Urgency

HASTE = ("before_driving", "this_visit", "by_date", "no_hurry")
"""Cues of urgency, the most pressing first."""
WHEN: dict[str, Literal["before_driving", "this_visit", "by_date_or_distance", "no_hurry"]] = {
    "before_driving": "before_driving",
    "this_visit": "this_visit",
    "by_date": "by_date_or_distance",
    "no_hurry": "no_hurry",
}
CLAUSE, LONGEST = 0.7, 16
"""How far a reason goes where only its first words are known: to the end of the clause, and no more tokens."""


def reason_of(scene: Scene, said: Said) -> str | None:
    """Why it is so, or why it should be done."""
    return _first(scene, said, "reason", "because")


def consequence_of(scene: Scene, said: Said) -> str | None:
    """What happens if it is left."""
    return _first(scene, said, "consequence", "or_else")


def tests_of(scene: Scene, said: Said) -> tuple[str, ...]:
    """How it was found out."""
    told = (_said(scene, item.first, item.last) for item, _ in said.of("test"))
    return tuple(dict.fromkeys(told))


def timing_of(scene: Scene, said: Said) -> str | None:
    """When to do it, as said; what is done while another part is open stands in `while_open_of`."""
    told = [m for m in _told(said, "timing") if not _while_open(scene, m)]
    told += _told(said, "urgent", "later") if not told else []
    return _said(scene, told[0].first, told[0].last) if told else None


def while_open_of(scene: Scene, said: Said) -> str | None:
    """The other work it goes with: "while the gearbox is out"."""
    told = [m for m in _told(said, "timing") if _while_open(scene, m)]
    return _said(scene, told[0].first, told[0].last) if told else None


def urgency_of(scene: Scene, said: Said) -> Urgency | None:
    """How soon, where words plainly say so."""
    spans = [(m.first, m.last) for m in _told(said, "timing")]
    spans += [(m.first, m.last) for m in _told(said, "urgent", "later")]
    inside = [m for m in scene.haste if any(a <= m.first and m.last <= b for a, b in spans)]
    for cue in HASTE:
        found = next((m for m in inside if m.key == cue), None)
        if found:
            return Urgency(when=WHEN[cue], by=_by(scene, cue, found))
    distances = scene.vocabulary.cue_words["distance"]
    for a, b in spans:
        if any(scene.texts[n] in distances for n in range(a, b + 1)):
            return Urgency(when="by_date_or_distance", by=_said(scene, a, b))
    return None


def _said(scene: Scene, first: int, last: int) -> str:
    """The words, without the punctuation that belongs to the sentence around them."""
    return said_tokens(scene.draft, first, last).strip(" ,.;:!?")


def _by(scene: Scene, cue: str, found: Mention) -> str | None:
    return _said(scene, found.first, found.last) if cue == "by_date" else None


def _told(said: Said, *families: str) -> list[Mention]:
    return [item for item, _ in said.of(*families) if isinstance(item, Mention)]


def _while_open(scene: Scene, told: Mention) -> bool:
    """Whether a timing says with what other work it goes."""
    return _starts(scene, told.first, scene.vocabulary.cue_phrases["while_open"])


def _starts(scene: Scene, at: int, phrases: Iterable[tuple[str, ...]]) -> bool:
    return any(tuple(scene.texts[at : at + len(words)]) == words for words in phrases)


def _first(scene: Scene, said: Said, family: str, cue: str) -> str | None:
    """The stretch read as such, else from a word that begins one to the end of its clause."""
    told = _told(said, family)
    if told:
        return _said(scene, told[0].first, told[0].last)
    if scene.vocabulary.encoder:
        return None
    phrases = scene.vocabulary.cue_phrases[cue]
    last = max((item.last for _, item, _ in said.items), default=said.part.last)
    for at in range(last + 1, min(len(scene.texts), last + 4)):
        if scene.mass[at] - scene.mass[last] < CLAUSE and _starts(scene, at, phrases):
            end = at
            while end + 1 < min(len(scene.texts), at + LONGEST) and scene.mass[end + 1] - scene.mass[at] < CLAUSE:
                end += 1
            return _said(scene, at, end)
    return None
