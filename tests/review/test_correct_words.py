"""Words corrected and found again: what a person decided stays, ids stay, evidence counts the words as heard."""

import pytest
from corrected import confirmed, corrected, find, found, of, word

from narrate.errors import UsageError
from narrate.export.cut_out import CUT, without_cuts
from narrate.records.walkaround import Evidence, Unplaced, Walkaround
from narrate.review.corrections.words import find_again


def edited(walkaround: Walkaround, old: str, new: str, count: int = 1) -> Walkaround:
    """The walkaround with some words, from the first that begins so, put right."""
    first = word(walkaround, old)
    return corrected(walkaround, "edit", recording="r1", first_word=first, last_word=first + count - 1, text=new)


def by_id(walkaround: Walkaround) -> dict[str, str]:
    """Component by id of finding."""
    return {f.id: f.component.id for f in walkaround.findings}


def test_what_comes_out_the_same_keeps_its_id_and_what_is_new_gets_a_new_one() -> None:
    before = found()
    after = edited(before, "cabin", "Air")
    assert by_id(before) == {"f1": "brake_pad", "f2": "shock_absorber", "f3": "cabin_air_filter", "f4": "drive_belt"}
    assert by_id(after) == {"f1": "brake_pad", "f2": "shock_absorber", "f5": "air_filter", "f4": "drive_belt"}
    assert list(by_id(after)) == ["f1", "f2", "f5", "f4"]
    for id_ in ("f1", "f2", "f4"):
        one, other = (next(f for f in w.findings if f.id == id_) for w in (before, after))
        assert (one.component, one.locations, one.status) == (other.component, other.locations, other.status)
        assert [c.id for c in one.conditions] == [c.id for c in other.conditions]
        assert one.evidence == other.evidence
    assert [(e.text, e.by) for e in after.edits] == [("Air", "Ann")]


def test_the_words_heard_stay_and_evidence_quotes_them() -> None:
    before = found()
    after = edited(before, "cabin", "Engine air")
    assert after.recordings == before.recordings
    filter_ = of(after, "air_filter")
    first = word(before, "cabin")
    assert [(e.first_word, e.last_word, e.said) for e in filter_.evidence] == [
        (first, first + 3, "Cabin filter is fine.")
    ]
    assert filter_.component.heard.lower().startswith(("engine air", "air"))


def test_an_id_stays_where_only_a_detail_changes() -> None:
    after = edited(found(), "leaking", "bent,")
    shock = of(after, "shock_absorber")
    assert shock.id == "f2"
    assert [c.id for c in shock.conditions] == ["bent"]
    assert shock.review.state == "unreviewed"


@pytest.mark.parametrize(
    ("do", "keys"),
    [
        ("confirm", {"findings": ["f3"]}),
        ("drop", {"finding": "f3", "why": "another car"}),
        ("component", {"finding": "f3", "to": "air_filter", "seen": "cabin_air_filter"}),
        ("locations", {"finding": "f3", "to": ["front"], "seen": []}),
        ("status", {"finding": "f3", "to": "fault", "seen": "ok"}),
    ],
)
def test_what_a_person_decided_stays_and_is_not_listed_anew(do: str, keys: dict[str, object]) -> None:
    decided = corrected(found(), do, **keys)
    after = edited(decided, "fine", "good.")
    kept = next(f for f in after.findings if f.id == "f3")
    assert kept == next(f for f in decided.findings if f.id == "f3")
    assert list(by_id(after)) == ["f1", "f2", "f3", "f4"]


def test_a_split_or_merged_finding_is_not_listed_anew() -> None:
    split = corrected(found(), "split", finding="f1", parts=[["front left"], ["front right"]])
    assert list(by_id(edited(split, "worn", "thin,"))) == ["f1", "f5", "f2", "f3", "f4"]
    merged = corrected(found(), "merge", findings=["f3", "f4"])
    assert list(by_id(edited(merged, "cracked", "frayed,"))) == ["f1", "f2", "f3", "f4"]


def test_an_added_finding_is_not_listed_anew_when_its_words_are_put_right() -> None:
    walkaround = found("front rotors are scored. the floobit is leaking badly.")
    first = word(walkaround, "floobit")
    evidence = {"recording": "r1", "first_word": first, "last_word": first + 3}
    added = corrected(walkaround, "add", component="water_pump", status="fault", evidence=evidence)
    after = edited(added, "floobit", "water pump")
    assert [f.review.state for f in after.findings if f.component.id == "water_pump"] == ["added"]


def test_what_is_gone_from_the_words_is_gone_unless_it_was_decided_on() -> None:
    first, last = word(found(), "serpentine"), len(found().recordings[0].words) - 1
    keys = {"recording": "r1", "first_word": first, "last_word": last, "text": ""}
    assert "f4" not in by_id(corrected(found(), "edit", **keys))
    decided = corrected(found(), "confirm", findings=["f4"])
    assert "f4" in by_id(corrected(decided, "edit", **keys))


def test_an_edit_taken_back_gives_what_was_found_first() -> None:
    before = found()
    first = word(before, "leaking")
    there = edited(before, "leaking", "bent,")
    back = corrected(there, "edit", recording="r1", first_word=first, last_word=first, text="leaking,")
    assert back.edits == ()
    assert back.findings == before.findings


def test_a_correction_within_another_is_made_of_the_whole() -> None:
    walkaround = edited(found(), "cabin", "engine air filter", count=2)
    first = word(found(), "cabin")
    with pytest.raises(UsageError, match="mark the whole"):
        corrected(walkaround, "edit", recording="r1", first_word=first, last_word=first, text="pollen")
    wider = corrected(walkaround, "edit", recording="r1", first_word=first - 1, last_word=first + 1, text="pollen")
    assert [(e.first_word, e.text) for e in wider.edits] == [(first - 1, "pollen")]
    assert edited(walkaround, "cabin", "engine air filter", count=2) is walkaround


@pytest.mark.parametrize(("recording", "first", "last"), [("r2", 0, 0), ("r1", 0, 999), ("r1", 4, 3)])
def test_words_that_are_not_there_are_refused(recording: str, first: int, last: int) -> None:
    with pytest.raises(UsageError, match="mark them again"):
        corrected(found(), "edit", recording=recording, first_word=first, last_word=last, text="x")


def test_every_word_may_be_taken_out() -> None:
    last = len(found().recordings[0].words) - 1
    after = corrected(found(), "edit", recording="r1", first_word=0, last_word=last, text="")
    assert (after.findings, after.concerns, after.unplaced) == ((), (), ())
    assert after.ids_used["f"] == 4


def test_concerns_written_or_decided_on_stay_and_spoken_ones_follow_the_words() -> None:
    written = corrected(found(), "concern", text="wipers smear")
    spoken = edited(written, "grinds", "squeals")
    assert {c.id: c.text for c in spoken.concerns} == {"c1": "it squeals when braking", "c2": "wipers smear"}
    decided = corrected(written, "decide", about="c1", decided="not_looked_at")
    kept = edited(decided, "grinds", "squeals")
    assert {c.id: c.text for c in kept.concerns} == {"c1": "it grinds when braking", "c2": "wipers smear"}


def test_words_that_fit_nowhere_keep_their_decision() -> None:
    first = word(found(), "cabin")
    piece = Evidence(recording="r1", first_word=first, last_word=first + 3, said="Cabin filter is fine.")
    stretches = (Unplaced(id="u1", why="…", evidence=(piece,)), Unplaced(id="u2", why="…", evidence=(piece,)))
    walkaround = found().model_copy(update={"unplaced": stretches})
    walkaround = corrected(walkaround, "decide", about="u1", decided="nothing_in_it")
    after = edited(walkaround, "leaking", "bent,")
    assert [u.id for u in after.unplaced] == ["u1"]


def test_the_head_follows_the_words_unless_a_person_changed_it() -> None:
    text = "Order number four four one zero, two thousand twelve Ford Focus. Front rotors are scored, replace them."
    walkaround = found(text)
    assert walkaround.vehicle.model == "Focus"
    after = edited(walkaround, "focus", "Fiesta.")
    assert after.vehicle.model == "Fiesta"
    by_hand = corrected(walkaround, "head", field="model", to="Focus ST", seen="Focus")
    assert edited(by_hand, "focus", "Fiesta.").vehicle.model == "Focus ST"


def test_finding_again_without_edits_changes_nothing() -> None:
    walkaround = found()
    assert find_again(walkaround, find).findings == walkaround.findings


TALK = "Front brake pads are worn. hey Mike your wife called about dinner Left rear shock is leaking, replace."


def cut(walkaround: Walkaround, first: str, last: str) -> Walkaround:
    return corrected(
        walkaround, "cut_out", recording="r1", first_word=word(walkaround, first), last_word=word(walkaround, last)
    )


def test_what_is_cut_out_is_in_the_list_no_more_and_in_nothing_that_leaves_the_shop() -> None:
    before = found(TALK)
    after = cut(before, "hey", "dinner")
    assert [(edit.text, edit.cut, edit.by) for edit in after.edits] == [("", True, "Ann")]
    assert after.recordings == before.recordings
    assert {f.component.id for f in after.findings} == {"brake_pad", "shock_absorber"}
    given = without_cuts(after)
    text = given.model_dump_json()
    for each in ("Mike", "wife", "dinner", "called"):
        assert each not in text
    assert CUT in text
    assert [f.id for f in given.findings] == [f.id for f in after.findings]
    assert without_cuts(before) is before


def test_a_dropped_finding_tells_nothing_of_what_was_cut_out() -> None:
    before = corrected(found("Mike's left rear tire is flat and he owes me 40 dollars. Cabin filter is fine."), "drop",
                       finding="f1", why="not this car")  # fmt: skip
    after = without_cuts(cut(before, "mike's", "dollars"))
    text = after.model_dump_json()
    assert not [each for each in ("Mike", "owes", "flat and", "40 dollars") if each in text]
    assert next(f for f in after.findings if f.id == "f1").review.why == "not this car"


def test_words_under_a_decision_cannot_be_cut_out() -> None:
    decided = confirmed(found())
    with pytest.raises(UsageError, match=r"f3 \(cabin air filter\) was decided on and rests on some of these words"):
        cut(decided, "cabin", "fine")


def test_a_cut_is_taken_back_by_what_was_heard() -> None:
    before = found(TALK)
    first, last = word(before, "hey"), word(before, "dinner")
    heard = " ".join(each.text for each in before.recordings[0].words[first : last + 1])
    place = {"recording": "r1", "first_word": first, "last_word": last}
    after = corrected(cut(before, "hey", "dinner"), "edit", **place, text=heard)
    assert after.edits == ()
    assert without_cuts(after) is after
