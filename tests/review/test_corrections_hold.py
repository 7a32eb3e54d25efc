"""Whatever is corrected in whatever order: the record stays valid, ids are never reused, evidence lies in words."""

import random
from typing import Any

from corrected import again, corrected, found, lexicon
from hypothesis import given, settings
from hypothesis import strategies as st

from narrate.errors import ConflictError, UsageError
from narrate.judge.numbering import LETTERS
from narrate.judge.unsettled import what_blocks
from narrate.records.walkaround import Walkaround

PARTS = ("brake_pad", "brake_rotor", "tire", "horn", "battery")
PLACES = ("front", "front left", "rear right", "upper", "left front")
STATUSES = ("fault", "ok", "unclear", "unchecked", "work")
DOS = (
    "confirm", "component", "locations", "status", "conditions", "recommendation", "measurements", "words", "prices",
    "urgency", "answers", "drop", "restore", "add", "split", "merge", "decide", "concern", "head", "edit", "sign",
    "reopen",
)  # fmt: skip


def anything(walkaround: Walkaround, do: str, rng: random.Random) -> dict[str, Any]:
    """A correction of this kind that the page could ask for, mostly of things that are there."""
    finding = rng.choice(walkaround.findings)
    f = {"finding": finding.id}
    some = rng.sample(PLACES, rng.randrange(3))
    number = {"value": str(rng.randrange(20)), "unit": rng.choice(["mm", "psi"]), "quantity": "thickness"}
    about = [*walkaround.concerns, *walkaround.unplaced, *walkaround.suggestions]
    conditions = [
        {"id": c, "certainty": "stated"} for c in rng.sample(["worn", "leaking", "cracked"], rng.randrange(3))
    ]
    last = len(walkaround.recordings[0].words) - 1
    word = rng.randrange(last)
    made: dict[str, dict[str, Any]] = {
        "confirm": {"findings": [rng.choice(walkaround.findings).id for _ in range(2)]},
        "component": {**f, "to": rng.choice(PARTS), "seen": finding.component.id},
        "locations": {**f, "to": some, "seen": list(finding.locations)},
        "status": {**f, "to": rng.choice(STATUSES), "seen": rng.choice([finding.status, "ok"])},
        "conditions": {**f, "to": conditions, "seen": [c.id for c in finding.conditions]},
        "recommendation": {**f, "to": {"action": rng.choice([None, "repair"])}, "seen": finding.recommendation.action},
        "measurements": {**f, "to": [number] * rng.randrange(3), "seen": [str(m.value) for m in finding.measurements]},
        "words": {**f, "field": "reason", "to": rng.choice([None, "age"]), "seen": finding.reason},
        "prices": {**f, "to": [], "seen": [str(p.amount) for p in finding.quoted_prices]},
        "urgency": {**f, "to": {"when": "this_visit"}, "seen": finding.urgency and finding.urgency.when},
        "answers": {**f, "to": [c.id for c in walkaround.concerns[:1]], "seen": [a.concern for a in finding.answers]},
        "drop": {**f, "why": "no"},
        "restore": f,
        "add": {
            "component": rng.choice(PARTS), "locations": some, "status": rng.choice(STATUSES),
            "evidence": {"recording": "r1", "first_word": word, "last_word": min(word + 3, last)},
        },
        "split": {**f, "parts": [some[:1], some[1:]]},
        "merge": {"findings": [finding.id, rng.choice(walkaround.findings).id]},
        "decide": {"about": rng.choice(about).id if about else "c1", "decided": "nothing_in_it"},
        "concern": {"text": f"noise {rng.randrange(4)}"},
        "head": {"field": "plate", "to": rng.choice([None, "ABC"]), "seen": walkaround.vehicle.plate},
        "edit": {"recording": "r1", "first_word": word, "last_word": min(word + rng.randrange(3), last),
                 "text": rng.choice(["", "horn", "the brake pads are", "cabin filter"])},
        "sign": {},
        "reopen": {},
    }  # fmt: skip
    return made[do]


def names(walkaround: Walkaround) -> dict[str, list[str]]:
    """Every id, by its kind."""
    kinds = ("findings", "concerns", "unplaced", "suggestions", "recordings")
    return {kind: [each.id for each in getattr(walkaround, kind)] for kind in kinds}


def holds(walkaround: Walkaround) -> None:
    """Assert what must be true of every walkaround."""
    assert Walkaround.model_validate_json(walkaround.model_dump_json(by_alias=True)) == walkaround
    for ids in names(walkaround).values():
        assert len(set(ids)) == len(ids)
        for id_ in ids:
            assert int(id_[1:]) <= walkaround.ids_used[id_[0]]
    words = {recording.id: recording.words for recording in walkaround.recordings}
    for thing in (*walkaround.findings, *walkaround.concerns, *walkaround.unplaced):
        for piece in thing.evidence:
            said = " ".join(w.text for w in words[piece.recording][piece.first_word : piece.last_word + 1])
            assert said == piece.said
    for finding in walkaround.findings:
        assert finding.component.name == lexicon().name(finding.component.id, "us")
        assert {a.concern for a in finding.answers} <= {c.id for c in walkaround.concerns}
    standing = {f.id for f in walkaround.findings if f.review.state != "dropped"}
    assert set(walkaround.review_order) == standing
    assert not walkaround.signed or not what_blocks(walkaround)
    assert again(walkaround) == walkaround


@settings(max_examples=60, deadline=None)
@given(st.lists(st.sampled_from(DOS), min_size=1, max_size=12), st.integers(0, 2**32))
def test_any_sequence_of_corrections_holds(dos: list[str], seed: int) -> None:
    rng = random.Random(seed)
    walkaround = corrected(found(), "concern", text="it is noisy")
    heard = walkaround.recordings
    ever = {kind: set(ids) for kind, ids in names(walkaround).items()}
    for do in dos:
        before = walkaround
        try:
            walkaround = corrected(before, do, **anything(before, do, rng))
        except (UsageError, ConflictError):
            continue
        holds(walkaround)
        assert walkaround.recordings == heard
        for letter in LETTERS:
            assert walkaround.ids_used.get(letter, 0) >= before.ids_used.get(letter, 0)
        for kind, ids in names(walkaround).items():
            new = set(ids) - set(names(before)[kind])
            assert not new & ever[kind]
            ever[kind] |= new
        if do != "edit":
            assert {f.id for f in before.findings} <= {f.id for f in walkaround.findings}
        decided = {f.id: f for f in before.findings if f.review.state != "unreviewed"}
        if do == "edit":
            kept = {f.id: f for f in walkaround.findings}
            assert all(kept[id_].evidence == f.evidence for id_, f in decided.items())
            assert all(kept[id_].component == f.component for id_, f in decided.items())
