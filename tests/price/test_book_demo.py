"""The demo book: invented, right, and enough for the sample recordings but for two of their parts."""

import tomllib
from pathlib import Path

import pytest

from narrate.price.book_file import Checked, book_bytes, check_file
from narrate.records.price_book import Operation
from narrate.settings import project_folder
from narrate.words.lexicon import Lexicon

DEMO = project_folder("lexicon") / "prices" / "demo_book.csv"
SAMPLES = Path(__file__).parent.parent.parent / "sample_audio"
NOT_PRICED = {"charging_cable", "seat_belt"}


@pytest.fixture(scope="module")
def demo(lexicon: Lexicon) -> Checked:
    return check_file(DEMO, lexicon)


def test_it_says_that_its_figures_are_invented(demo: Checked) -> None:
    second_row = DEMO.read_text("utf-8-sig").splitlines()[1]
    assert second_row.startswith("settings,")
    assert "every figure in it is invented" in second_row
    assert demo.notices == (
        "No tax is on labor, sublet, while other lines are taxed; add to a tax row what is taxed with you.",
    )


def test_it_is_as_large_as_it_should_be(demo: Checked) -> None:
    book = demo.book
    assert len(book.operations) >= 150
    assert len(book.parts) >= 250
    assert len(book.rates) == 3
    assert book.supplies is not None
    assert [fee.component for fee in book.fees] == ["tire"]


def test_it_is_written_as_it_would_be_exported(demo: Checked) -> None:
    assert book_bytes(demo.book) == DEMO.read_bytes()


def test_work_on_parts_that_bring_cores_has_them(demo: Checked) -> None:
    cored = {part.component for part in demo.book.parts if part.core}
    assert {"brake_caliper", "starter", "alternator", "battery"} <= cored


@pytest.mark.parametrize("component", ["tie_rod_end", "inner_tie_rod", "control_arm", "strut"])
def test_steering_work_requires_an_alignment(component: str, demo: Checked) -> None:
    rows = [row for row in demo.book.operations if row.component == component and row.action == "replace"]
    assert rows
    assert all(row.requires == ("wheel_alignment.align",) for row in rows)


def test_labor_that_is_shared_is_told(demo: Checked) -> None:
    def group(component: str) -> set[str | None]:
        return {row.overlaps for row in demo.book.operations if row.component == component and row.action == "replace"}

    assert group("brake_pad") == group("brake_rotor") == {"front_brakes", "rear_brakes"}
    assert group("water_pump") == group("timing_belt") == {"timing"}


def test_every_part_worked_on_in_the_sample_recordings_has_a_price_but_two(demo: Checked, lexicon: Lexicon) -> None:
    missing = {name for name, action, ids in _wanted(lexicon) if not any(_has(demo, each, action) for each in ids)}
    assert missing == NOT_PRICED


def _has(demo: Checked, component: str, action: str) -> bool:
    def does(row: Operation) -> bool:
        return row.component == component and row.action == action

    rows = list(filter(does, demo.book.operations))
    parts = any(part.component == component for part in demo.book.parts)
    return any(row.sublet or row.fluids or parts or action not in ("replace", "install") for row in rows)


def _wanted(lexicon: Lexicon) -> list[tuple[str, str, list[str]]]:
    """(one of the components, action, all components) for each finding of the samples that is to be worked on."""
    ids = {name: id_ for id_, entry in lexicon.components.items() for name in entry.names}
    wanted = []
    for path in sorted(SAMPLES.glob("*.toml")):
        for finding in tomllib.loads(path.read_text("utf-8"))["finding"]:
            actions = [each for each in finding["actions"] if each in lexicon.actions]
            known = sorted({ids[name] for name in finding["component"] if name in ids})
            if actions and actions[0] != "monitor":
                first = next((ids[name] for name in finding["component"] if name in ids), "?")
                wanted.append((first, actions[0], known))
    return wanted
