"""What the page offers by a digit while something is put right: read off the words heard there and close by."""

from functools import lru_cache
from typing import Annotated, Any, Literal

from fastapi import APIRouter, Request

from narrate.find import nearby as find
from narrate.find.draft import Draft
from narrate.find.vocabulary import vocabulary
from narrate.records.recording import Word
from narrate.records.walkaround import Walkaround
from narrate.review.desk import desk_of
from narrate.review.signin import Person, needs
from narrate.store.walkarounds import read_walkaround
from narrate.words.lexicon import Lexicon

router = APIRouter()
Json = dict[str, Any]
Kind = Literal["finding", "unplaced"]
MOST_UNLISTED = 9
NOTHING: Json = {"components": [], "places": [], "conditions": [], "actions": [], "numbers": [], "told": None}


@router.get("/api/walkarounds/{walkaround_id}/nearby/{kind}/{about}")
def nearby(
    request: Request, walkaround_id: str, kind: Kind, about: str, person: Annotated[Person, needs("technician")]
) -> Json:
    """What the words of a finding, or of a stretch that fitted nowhere, may mean besides."""
    desk = desk_of(request)
    return nearby_view(read_walkaround(desk.store, walkaround_id).walkaround, desk.lexicon(), kind, about)


@router.get("/api/walkarounds/{walkaround_id}/unlisted")
def unlisted(request: Request, walkaround_id: str, person: Annotated[Person, needs("technician")]) -> list[Json]:
    """Parts that were named and are in no finding, each as a finding could be made of it."""
    desk = desk_of(request)
    return unlisted_view(read_walkaround(desk.store, walkaround_id).walkaround, desk.lexicon())


def nearby_view(walkaround: Walkaround, lexicon: Lexicon, kind: Kind, about: str) -> Json:
    """Components, places, conditions, actions and numbers, the likeliest first; `told`: what the words tell of each
    component offered and, under "", of any other, for a stretch alone.
    """
    finding = next((f for f in walkaround.findings if kind == "finding" and f.id == about), None)
    stretch = next((u for u in walkaround.unplaced if kind == "unplaced" and u.id == about), None)
    thing = finding or stretch
    evidence = thing.evidence if thing else ()
    if not evidence:
        return NOTHING
    ears = _Ears(walkaround, lexicon, evidence[0].recording)
    pieces = [(e.first_word, e.last_word) for e in evidence if e.recording == ears.recording]
    part = finding.component.id if finding else None
    near = find.nearby(ears.draft, ears.words, pieces, part, **ears.car)
    present = {c.id for c in finding.conditions} if finding else set()
    action = finding.recommendation.action if finding else None
    return {
        "components": [ears.component(each) for each in near.parts],
        "places": [list(each) for each in near.places if not finding or each != finding.locations],
        "conditions": [
            {"id": each, "name": lexicon.conditions[each].name} for each in near.conditions if each not in present
        ],
        "actions": [{"id": each, "name": lexicon.actions[each].name} for each in near.actions if each != action],
        "numbers": [_number(each) for each in near.numbers],
        "told": {part: ears.told(pieces[0], part) for part in ("", *near.parts)} if stretch else None,
    }


def unlisted_view(walkaround: Walkaround, lexicon: Lexicon) -> list[Json]:
    """Component, words and what they tell of it; those of which something is told first, then as they were said."""
    found: list[Json] = []
    standing = [f for f in walkaround.findings if f.review.state != "dropped"]
    for recording in walkaround.recordings:
        if not recording.minable or not recording.words:
            continue
        ears = _Ears(walkaround, lexicon, recording.id)
        listed = [
            (f.component.id, e.first_word, e.last_word)
            for f in walkaround.findings
            for e in f.evidence
            if e.recording == recording.id
        ]
        added = {(f.component.id, e.first_word) for f in standing for e in f.evidence if e.recording == recording.id}
        for each in find.unlisted(ears.draft, ears.words, listed):
            if (each.part, each.first) not in added:
                found.append(ears.unlisted(each))
    return sorted(found, key=lambda each: not each["telling"])[:MOST_UNLISTED]


class _Ears:
    """One recording of a walk-round, read."""

    def __init__(self, walkaround: Walkaround, lexicon: Lexicon, recording: str) -> None:
        self.recording, self.lexicon, self.market = recording, lexicon, walkaround.market
        self.heard = next(r.words for r in walkaround.recordings if r.id == recording)
        self.words = vocabulary(lexicon)
        self.draft = _read(self.heard, lexicon)
        self.car = {"drive_side": walkaround.vehicle.drive_side, "market": walkaround.market}

    def component(self, id_: str) -> Json:
        return {"id": id_, "name": self.lexicon.name(id_, self.market)}

    def told(self, piece: tuple[int, int], part: str) -> Json:
        """What a stretch tells of a part, shaped as the page asks for a finding to be added."""
        words = find.thought_around(self.draft, piece)
        told = find.told(self.draft, self.words, words, part or None, **self.car)
        return {
            "locations": list(told.places),
            "status": told.status,
            "conditions": [{"id": each} for each in told.conditions],
            "action": told.action,
            "measurements": [_number(each) for each in told.numbers],
        }

    def unlisted(self, each: find.Unlisted) -> Json:
        told = self.told((each.first, each.last), each.part)
        telling = told["conditions"] or told["action"] or told["measurements"] or told["status"] != "fault"
        return {
            **self.component(each.part),
            "evidence": {"recording": self.recording, "first_word": each.first, "last_word": each.last},
            "said": " ".join(word.text for word in self.heard[each.first : each.last + 1]),
            "told": told,
            "telling": bool(telling),
        }


def _number(number: find.Number) -> Json:
    return {
        "value": str(number.value),
        "high": str(number.high) if number.high is not None else None,
        "unit": number.unit,
        "about": number.about,
        "location": None,
    }


@lru_cache(maxsize=8)
def _read(words: tuple[Word, ...], lexicon: Lexicon) -> Draft:
    """What was heard never changes, so that a recording is read once while someone works on it."""
    return find.read_words(words, vocabulary(lexicon))
