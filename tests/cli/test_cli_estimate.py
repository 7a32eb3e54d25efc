"""`narrate estimate`: from a walkaround and a book to the customer's files."""

import json
import subprocess
from decimal import Decimal
from pathlib import Path

import pytest
from cli_fakes import Run

from narrate.cli.demo import BOOK
from narrate.export import estimate_pdf
from narrate.settings import project_folder

DEMO = project_folder("lexicon") / "prices" / BOOK
SAID = "front brake pads are worn out, replace them. the quarter glass weatherstrip on the left is torn, replace it."
FILES = ["estimate.csv", "estimate.html", "estimate.json", "estimate.pdf", "estimate.xlsx"]


@pytest.fixture
def walk(at: Path, run: Run) -> Path:
    """A walkaround of words, unchecked."""
    assert 0 == run("find", "-", "--json", "w.json", stdin=SAID).exit_code
    return at / "w.json"


def test_the_files_are_written_and_named(walk: Path, at: Path, run: Run) -> None:
    """Names on standard output, one sentence on the other; the record's lines sum to its totals."""
    result = run("estimate", walk, "--book", DEMO, "--to", "out")
    assert (0, FILES) == (result.exit_code, sorted(Path(line).name for line in result.stdout.split()))
    assert FILES == sorted(path.name for path in (at / "out").iterdir())
    assert "Draft: findings are unchecked, so it cannot be authorized." in result.stderr
    record = json.loads((at / "out/estimate.json").read_text("utf-8"))
    assert record["draft"]
    assert record["to_be_priced"]
    lines = [line for job in record["jobs"] for line in job["choices"][0]["lines"]]
    totals = {key: Decimal(value) for key, value in record["totals"].items() if isinstance(value, str)}
    whole = totals["total"] - totals["tax"] - totals["supplies"] - totals["fees"] + totals["discount"]
    assert lines
    assert whole == sum(Decimal(line["amount"]) for line in lines)
    page = (at / "out/estimate.html").read_text("utf-8")
    assert "Draft estimate e1" in page
    assert "Still to be priced" in page


def test_the_place_and_the_order_reach_the_paper(walk: Path, at: Path, run: Run) -> None:
    """The place's fields and statements, the order's number, customer and promise."""
    order = '{"number": "4711", "customer": {"name": "J. Doe", "phone": "555 0100"}, "promised": "2026-11-30"}'
    (at / "order.json").write_text(order, "utf-8")
    result = run("estimate", walk, "--book", DEMO, "--to", "out", "--place", "us-ca", "--order", "order.json")
    assert 0 == result.exit_code
    text = (at / "out/estimate.html").read_text("utf-8")
    for said in ("California", "unless specifically identified", "4711", "J. Doe", "30 November 2026"):
        assert said in text
    assert "Check local law" not in " ".join(text.split())
    assert "us-ca" == json.loads((at / "out/estimate.json").read_text("utf-8"))["place"]


def test_without_pango_the_rest_is_there_and_why_is_told(
    walk: Path, at: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It is no failure: the page can be printed by a browser."""

    def missing(_name: str) -> None:
        raise OSError

    monkeypatch.setattr(estimate_pdf, "import_module", missing)
    result = run("estimate", walk, "--book", DEMO, "--to", "out")
    assert 0 == result.exit_code
    assert "print it there" in result.stderr
    assert [name for name in FILES if name != "estimate.pdf"] == sorted(path.name for path in (at / "out").iterdir())


def test_a_book_with_mistakes_writes_nothing(walk: Path, at: Path, run: Run) -> None:
    """All mistakes are told, and no folder is made."""
    (at / "book.csv").write_text("row,name,price,currency\nsettings,,,USD\nrate,standard,-1,\n", "utf-8")
    result = run("estimate", walk, "--book", "book.csv", "--to", "out")
    assert result.exit_code in (1, 2)
    assert "row 3" in result.stderr
    assert not (at / "out").exists()


def test_the_pdf_says_what_the_page_says(walk: Path, at: Path, run: Run) -> None:
    """Read back by Poppler: title, sums and the draft's notice."""
    run("estimate", walk, "--book", DEMO, "--to", "out")
    told = subprocess.run(
        ["pdftotext", "-layout", at / "out/estimate.pdf", "-"], capture_output=True, text=True, check=True
    )
    record = json.loads((at / "out/estimate.json").read_text("utf-8"))
    assert "This is a draft." in told.stdout
    assert f"${Decimal(record['totals']['total']):,.2f}" in told.stdout
