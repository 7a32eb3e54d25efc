"""`narrate price`: a walkaround by a book becomes a table or the record, and what has no price is told."""

import json
from decimal import Decimal
from pathlib import Path

import pytest
from cli_fakes import Run, fake_recording, fake_walkaround

from narrate.records.estimate import Estimate
from narrate.settings import project_folder

BOOK = project_folder("lexicon") / "prices" / "demo_book.csv"


@pytest.fixture
def walk(at: Path) -> Path:
    """Front pads to be replaced, and something that no book has."""
    sound = at / "a.wav"
    sound.write_text("front pads are worn")
    base = fake_walkaround([fake_recording(sound)])
    [pads] = base.findings
    pads = pads.model_copy(update={"locations": ("front left", "front right")})
    other = pads.component.model_copy(update={"id": "hubodometer", "name": "hubodometer"})
    odd = pads.model_copy(update={"id": "f2", "component": other, "locations": ()})
    path = at / "walk.json"
    path.write_text(base.model_copy(update={"findings": (pads, odd)}).model_dump_json(by_alias=True), "utf-8")
    return path


def test_the_record(run: Run, walk: Path) -> None:
    """Lines sum to the totals; the place is the one asked for; a draft says so."""
    result = run("price", walk, "--book", BOOK, "--place", "FL", "--json", "-")
    assert 0 == result.exit_code, result.stderr
    assert "draft" in result.stderr
    made = Estimate.model_validate(json.loads(result.stdout))
    assert ("FL", True) == (made.place, made.draft)
    amounts = sum((line.amount for job in made.jobs for line in job.choices[0].lines), Decimal(0))
    told = made.totals
    assert amounts == told.total - told.tax - told.supplies - told.fees + told.discount
    assert ["Replace hubodometer"] == [each.title for each in made.to_be_priced]


def test_the_table(run: Run, walk: Path) -> None:
    """Jobs, what is to be priced, sums."""
    result = run("price", walk, "--book", BOOK)
    assert 0 == result.exit_code, result.stderr
    assert "Replace front brake pads" in result.stdout
    assert "The book has no operation to replace a hubodometer." in result.stdout
    assert "Sales tax" in result.stdout


def test_a_book_that_is_none_is_refused(run: Run, walk: Path, at: Path) -> None:
    """In a sentence, without a traceback."""
    wrong = at / "wrong.csv"
    wrong.write_text("a,b\n1,2\n")
    result = run("price", walk, "--book", wrong)
    assert 2 == result.exit_code
    assert "Traceback" not in result.stderr
    assert "" == result.stdout
