"""Each finding answers at most one expected finding, the one it fits best."""

from collections.abc import Callable

from narrate.records.case import Case
from narrate.records.walkaround import Finding
from narrate.score.names import Names
from narrate.score.pairing import pair_findings

Build = Callable[..., Finding]


def test_names_of_the_lexicon_count(names: Names, finding: Build, case: Callable[..., Case]) -> None:
    """A component pairs by any of its names, by its id, and by no other's."""
    expected = case({"component": ["brake disc", "brake discs"]}).finding
    rotor, drum = finding("brake rotor"), finding("brake drum")
    pairing = pair_findings(expected, (drum, rotor), names=names)
    assert (((expected[0], rotor),), (), (drum,)) == (pairing.pairs, pairing.missed, pairing.extra)


def test_the_best_fit_is_taken_over_all(names: Names, finding: Build, case: Callable[..., Case]) -> None:
    """Front and rear of one part go to their own, whatever the order of telling."""
    expected = case(
        {"component": ["brake pad"], "locations": [["front"]], "status": "fault"},
        {"component": ["brake pad"], "locations": [["rear"]], "status": "ok"},
    ).finding
    rear, front = finding("brake pad", "rear", status="ok"), finding("brake pad", "front")
    pairing = pair_findings(expected, (rear, front), names=names)
    assert ((expected[0], front), (expected[1], rear)) == pairing.pairs


def test_more_pairs_go_before_better_pairs(names: Names, finding: Build, case: Callable[..., Case]) -> None:
    """A finding gives way when it can fit another expected one."""
    expected = case(
        {"component": ["tire"], "locations": [["front left"]]},
        {"component": ["tire", "wheel"], "locations": [["front left"]]},
    ).finding
    tire, wheel = finding("tire", "front left"), finding("wheel", "rear right")
    pairing = pair_findings(expected, (tire, wheel), names=names)
    assert ((expected[0], tire), (expected[1], wheel)) == pairing.pairs


def test_an_optional_one_is_never_missed(names: Names, finding: Build, case: Callable[..., Case]) -> None:
    """What need not be found is not owed, and gives way to what is."""
    expected = case({"component": ["tire"], "optional": True}, {"component": ["tire"]}).finding
    pairing = pair_findings(expected, (finding("tire"),), names=names)
    assert [expected[1]] == [wanted for wanted, _ in pairing.pairs]
    assert () == pairing.missed


def test_nothing_pairs_with_nothing(names: Names, finding: Build, case: Callable[..., Case]) -> None:
    """No finding, or none expected, is no error."""
    expected = case({"component": ["tire"]}).finding
    assert expected == pair_findings(expected, (), names=names).missed
    assert (finding("tire"),) == pair_findings((), (finding("tire"),), names=names).extra
