"""What the technician answered to a question, laid into the finding it was asked about."""

from collections.abc import Iterable

from narrate.judge.carrying_out import evidence_at, words_between
from narrate.judge.numbering import new_ids
from narrate.judge.places import OPPOSITE, covers
from narrate.judge.spoken import SIDES, SMALL, TENS
from narrate.records.capture import Mark
from narrate.records.walkaround import Doubt, Evidence, Finding, Recommendation, Unplaced, Walkaround
from narrate.words.conversion import convertible

ANSWERED = 0.95
"""How sure a field is that the technician answered for."""
ORDER = ("front", "rear", "left", "right", "upper", "lower", "inner", "outer")
ALL = ("front left", "front right", "rear left", "rear right")


def with_answer(walkaround: Walkaround, mark: Mark, recording: str) -> Walkaround:
    """The walkaround with one answer in the finding spoken then; where there is none, a line that fits nowhere.

    What a person decided stays as it is.
    """
    finding = _spoken_then(walkaround, mark, recording)
    words = _words(walkaround, mark, recording)
    if finding is None:
        return _told(walkaround, mark, words)
    if finding.review.state != "unreviewed" or not mark.value:
        return walkaround
    changed = {"location": _located, "status": _with_status, "unit": _with_unit}.get(mark.field or "", _as_it_is)(
        finding, mark, mark.value
    )
    if changed is finding:
        return walkaround
    if words and not any(e.first_word <= words.first_word and words.last_word <= e.last_word for e in finding.evidence):
        changed = changed.model_copy(update={"evidence": (*changed.evidence, words)})
    findings = tuple(changed if f.id == finding.id else f for f in walkaround.findings)
    return walkaround.model_copy(update={"findings": findings})


def places_answered(present: Iterable[str], value: str) -> tuple[str, ...]:
    """Locations with what an answer adds; its tokens take the place of opposite ones.

    >>> places_answered(["front"], "left"), places_answered([], "both"), places_answered(["front left"], "right")
    (('front left',), ('left', 'right'), ('front right',))
    """
    tokens = [token for token in value.split() if token in ORDER]
    if value == "all":
        return ALL
    both = "both" in value.split()
    gone = {OPPOSITE[token] for token in tokens} | set(SIDES if both else ())
    bases = [[t for t in place.split() if t not in gone] for place in present] or [[]]
    told = [[*base, *tokens, *side] for base in bases for side in ((["left"], ["right"]) if both else ([],))]
    return tuple(dict.fromkeys(" ".join(sorted(set(each), key=ORDER.index)) for each in told))


def _located(finding: Finding, mark: Mark, value: str) -> Finding:
    told = places_answered(finding.locations, value)
    if set(told) == set(finding.locations) or (finding.locations and covers([value], finding.locations)):
        return finding
    asked = {token for place in told for token in place.split()}
    here = {token for place in finding.locations for token in place.split()}
    settled = any(OPPOSITE[token] in here for token in asked if token not in here) or (
        "both" in value and bool(here.intersection(SIDES))
    )
    if settled and mark.said:
        return _doubted(finding, "location", f"the technician answered '{value}' when asked", told)
    sure = finding.confidence.model_copy(update={"location": max(ANSWERED, finding.confidence.location)})
    doubts = tuple(d for d in finding.doubts if d.field != "location")
    return _surer(finding.model_copy(update={"locations": told, "confidence": sure, "doubts": doubts}))


def _with_status(finding: Finding, mark: Mark, value: str) -> Finding:
    open_ = any(doubt.field == "status" for doubt in finding.doubts)
    if value not in ("ok", "fault") or (finding.status == value and not open_):
        return finding
    if mark.said and not open_ and finding.status in ("ok", "fault"):
        return _doubted(finding, "status", f"the technician answered '{value}' when asked", ())
    fine = {"conditions": (), "recommendation": Recommendation(), "cautions": ()} if value == "ok" else {}
    sure = finding.confidence.model_copy(update={"condition": max(ANSWERED, finding.confidence.condition)})
    doubts = tuple(d for d in finding.doubts if d.field != "status")
    return _surer(finding.model_copy(update={"status": value, "confidence": sure, "doubts": doubts, **fine}))


def _with_unit(finding: Finding, mark: Mark, value: str) -> Finding:
    """The last number told without a unit takes the one answered; its verdict is to be judged again."""
    open_ = [n for n in finding.measurements if n.unit != value and convertible(n.unit, value) and _bare(n.said)]
    if not open_:
        return finding
    changed = open_[-1].model_copy(update={"unit": value, "verdict": None, "shop_verdict": None})
    numbers = tuple(changed if n is open_[-1] else n for n in finding.measurements)
    return finding.model_copy(update={"measurements": numbers})


def _as_it_is(finding: Finding, mark: Mark, value: str) -> Finding:
    return finding


def _bare(said: str) -> bool:
    """Whether a number was told without a unit."""
    last = said.lower().replace("-", " ").strip(" .,;:!?").split()[-1:]
    return not last or last[0][0].isdecimal() or last[0] in (*SMALL, *TENS, "half", "quarter", "hundred")


def _doubted(finding: Finding, field: str, why: str, instead: tuple[str, ...]) -> Finding:
    doubt = Doubt(field=field, why=why, instead=instead)
    return finding if doubt in finding.doubts else finding.model_copy(update={"doubts": (*finding.doubts, doubt)})


def _surer(finding: Finding) -> Finding:
    sure = finding.confidence
    least = min(sure.component, sure.location, sure.condition, sure.recommendation)
    return finding.model_copy(update={"confidence": sure.model_copy(update={"overall": least})})


def _spoken_then(walkaround: Walkaround, mark: Mark, recording: str) -> Finding | None:
    """The finding most of which was said in the seconds that the answer is about; the latest at a draw."""
    if mark.about_start_s is None or mark.about_end_s is None:
        return None
    best, most_s = None, 0.0
    for finding in walkaround.findings:
        common_s = sum(
            max(0.0, min(e.end_s, mark.about_end_s) - max(e.start_s, mark.about_start_s))
            for e in finding.evidence
            if e.recording == recording and e.start_s is not None and e.end_s is not None
        )
        if common_s >= most_s > 0 or common_s > 0 == most_s:
            best, most_s = finding, common_s
    return best


def _words(walkaround: Walkaround, mark: Mark, recording: str) -> Evidence | None:
    """The words the answer was spoken in, as heard in the whole recording."""
    heard = next((r for r in walkaround.recordings if r.id == recording and r.words), None)
    if heard is None or not mark.said or mark.end_s is None:
        return None
    place = words_between(heard, mark.at_s, mark.end_s)
    return evidence_at(heard, *place) if place else None


def _told(walkaround: Walkaround, mark: Mark, words: Evidence | None) -> Walkaround:
    why = f"the technician answered '{mark.value}' here; what it answers is not on the list"
    evidence = (words,) if words else ()
    if any(u.why == why and u.evidence == evidence for u in walkaround.unplaced):
        return walkaround
    made = Unplaced(id=next(new_ids(walkaround, "u")), why=why, evidence=evidence)
    return walkaround.model_copy(update={"unplaced": (*walkaround.unplaced, made)})
