"""A reviewed walkaround as a case: read back by the reader of cases, and all right against itself."""

from collections.abc import Callable
from pathlib import Path

import pytest

from narrate.errors import UsageError
from narrate.records.case import Case
from narrate.records.walkaround import Concern, Evidence, Finding, HeadingValue, Vehicle, Walkaround
from narrate.score.as_case import case_of
from narrate.score.cases import read_cases
from narrate.score.measure import measure_case
from narrate.score.names import Names

Build = Callable[..., Finding]
BuildWalkaround = Callable[..., Walkaround]
CONFIRMED = {"state": "confirmed"}
SAID = 'the 2016 Civic: rear rotors worn "thin", change them. \\ one forty\x7f, ' + "and so on " * 40


@pytest.fixture
def reviewed(finding: Build, walkaround: BuildWalkaround) -> Walkaround:
    """Findings confirmed, dropped and typed in, with concerns said and ordered."""
    evidence = Evidence(recording="r1", first_word=1, last_word=2, said="2016 Civic:")
    rotor = finding(
        "brake rotor",
        "rear left",
        "rear right",
        conditions=("worn",),
        action="replace",
        review=CONFIRMED,
        measurements=[{"value": "9.60", "unit": "mm", "location": "rear left", "said": "nine point six"}],
        quoted_prices=[{"amount": "140.00", "currency": "USD", "for": "", "said": "one forty"}],
        answers=[{"concern": "c1"}, {"concern": "c2"}],
        reason="worn thin",
        part_options=("new",),
        urgency={"when": "before_driving", "origin": "rule", "said": {"when": "this_visit"}},
    )
    strut = finding("strut", review={"state": "dropped", "why": "another car"}, id="f2")
    typed_in = finding("horn", review={"state": "added"}, id="f3").model_copy(update={"evidence": ()})
    return walkaround(
        rotor,
        strut,
        typed_in,
        said=SAID,
        id="w12",
        market="gb",
        order_number="77",
        vehicle=Vehicle(year=2016, make="Honda", model="Civic", plate="AB12", drive_side="right"),
        heading=tuple(HeadingValue(field=key, value="…", evidence=evidence) for key in ("year", "model")),
        concerns=(
            Concern(id="c1", text="grinding when braking", symptoms=("grinding",)),
            Concern(id="c2", text="pulls left", origin="order"),
        ),
    )


def read_back(text: str, folder: Path) -> Case:
    file = folder / "w12.toml"
    file.write_text(text, "utf-8")
    (read,) = read_cases(file)
    return read.case


def test_the_case_is_read_back(reviewed: Walkaround, tmp_path: Path) -> None:
    case = read_back(case_of(reviewed), tmp_path)
    assert ("w12", "heard", "gb", "right") == (case.id, case.origin, case.market, case.drive_side)
    assert case.said.split() == SAID.split()
    (expected,) = case.finding
    assert expected.component == ("brake rotor",)
    assert expected.measurements == (("9.60", "mm", "rear left"),)
    assert expected.urgency == "this_visit"
    assert expected.reason == ("worn thin",)
    assert case.must_not == ("strut",)


def test_what_nobody_said_is_not_owed(reviewed: Walkaround, tmp_path: Path) -> None:
    case = read_back(case_of(reviewed), tmp_path)
    assert case.concerns == ("grinding",)
    assert case.finding[0].answers == ("grinding",)
    assert (case.order_number, case.plate) == (None, None)
    assert (case.vehicle.year, case.vehicle.make, case.vehicle.model) == (2016, None, "Civic")


def test_a_walkaround_is_right_by_its_own_case(reviewed: Walkaround, names: Names, tmp_path: Path) -> None:
    said = [finding for finding in reviewed.findings if finding.evidence]
    score = measure_case(
        read_back(case_of(reviewed), tmp_path), reviewed.model_copy(update={"findings": said}), names=names
    )
    assert score.counts["whole"].right == score.counts["whole"].owed == 1
    assert score.forbidden == ()
    for kind in ("amount", "price", "concern link", "reason", "part option", "urgency"):
        assert score.counts[kind].right == score.counts[kind].owed == 1, kind


def test_what_is_fine_owes_no_action(finding: Build, walkaround: BuildWalkaround, tmp_path: Path) -> None:
    fine = finding("strut", status="ok", review=CONFIRMED)
    dropped = finding("strut", review={"state": "dropped"}, id="f2")
    faulty = finding("strut", "front left", conditions=("bent",), review=CONFIRMED, id="f3")
    case = read_back(case_of(walkaround(fine, dropped, faulty, said="…")), tmp_path)
    assert case.finding[0].actions == ()
    assert case.finding[0].locations == ((),)
    assert case.must_not == ()


def test_a_finding_nobody_reviewed_is_no_answer(finding: Build, walkaround: BuildWalkaround) -> None:
    with pytest.raises(UsageError, match="f1 is not reviewed yet"):
        case_of(walkaround(finding("strut")))
