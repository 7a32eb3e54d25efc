"""What is still to be settled before a list can be signed, in the order to take it."""

from judged import finding, walk

from narrate.judge.unsettled import what_blocks
from narrate.records.reviewed import Decision, Review
from narrate.records.walkaround import Concern, Contradiction, Evidence, Unplaced, Walkaround

PIECE = Evidence(recording="r1", first_word=0, last_word=1, said="that flange")
DROPPED, CONFIRMED = Review(state="dropped"), Review(state="confirmed")


def whole() -> Walkaround:
    """A walkaround with everything that can be unsettled."""
    return walk(
        finding("brake_pad", id="f1", at="front left"),
        finding("tire", id="f2"),
        finding("battery", id="f3", review=CONFIRMED),
        finding("muffler", id="f4", review=DROPPED),
        finding("horn", id="f5"),
        review_order=("f2", "f1", "f3"),
        concerns=(
            Concern(id="c1", text="it squeals"),
            Concern(id="c2", text="it pulls", state="partly"),
            Concern(id="c3", text="it smells", state="answered"),
        ),
        contradictions=(
            Contradiction(between=("f1", "f2"), about="verdict", text="Fine and faulty."),
            Contradiction(between=("f1", "f2"), about="amount", text="Two amounts."),
            Contradiction(between=("f2", "f4"), about="amount", text="Not any more."),
        ),
        unplaced=(Unplaced(id="u1", why="…", evidence=(PIECE,)),),
    )


def test_findings_come_first_as_they_are_to_be_checked_then_contradictions_concerns_and_words() -> None:
    assert [(each.kind, each.about) for each in what_blocks(whole())] == [
        ("finding", "f2"),
        ("finding", "f1"),
        ("finding", "f5"),
        ("contradiction", "f1+f2"),
        ("concern", "c1"),
        ("concern", "c2"),
        ("unplaced", "u1"),
    ]


def test_each_is_told_in_words() -> None:
    told = {each.about: each.text for each in what_blocks(whole())}
    assert told["f1"] == "The brake pad (front left) has not been checked."
    assert told["f1+f2"] == "Fine and faulty. Two amounts."
    assert told["c1"] == "Nothing answers the customer's concern 'it squeals'."
    assert told["c2"] == "Nobody has confirmed what answers the customer's concern 'it pulls'."
    assert told["u1"] == "'that flange' was heard and belongs to no finding."


def test_what_was_decided_is_settled() -> None:
    decisions = tuple(Decision(about=about, decided="settled") for about in ("f1+f2", "c1", "c2", "u1"))
    left = what_blocks(whole().model_copy(update={"decisions": decisions}))
    assert [each.kind for each in left] == ["finding"] * 3


def test_nothing_blocks_what_is_settled() -> None:
    assert what_blocks(walk(finding("tire", review=CONFIRMED), finding("horn", id="f2", review=DROPPED))) == ()
