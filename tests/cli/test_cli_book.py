"""`narrate book`: what it prints, and how it ends."""

import json
from pathlib import Path

from cli_fakes import Run

from narrate.settings import project_folder

DEMO = project_folder("lexicon") / "prices" / "demo_book.csv"
TWO_MISTAKES = "row,name,price,currency\nsettings,,,USD\nrate,standard,-1,\nrate,fast,x,\n"


def test_check_counts_what_is_in_a_book(run: Run) -> None:
    result = run("book", "check", DEMO)
    assert result.exit_code == 0
    assert "3 labor rates, 4 markups, 1 fee, 1 tax, 1 minimum charge; a supplies rule; prices in USD." in result.stdout
    assert result.stderr.startswith("notice: No tax is on labor, sublet")


def test_check_tells_every_mistake_and_fails(run: Run, at: Path) -> None:
    (at / "book.csv").write_text(TWO_MISTAKES, "utf-8")
    result = run("book", "check", "book.csv")
    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr.splitlines() == [
        "book.csv has 2 mistakes; nothing was taken over:",
        "  row 3, price: '-1' is below 0.",
        "  row 4, price: 'x' is not a number; write it like 12.50.",
    ]


def test_what_is_imported_is_exported(run: Run, at: Path) -> None:
    imported = run("book", "import", DEMO, "--data", "data")
    assert imported.exit_code == 0, imported.stderr
    for name in ("out.csv", "out.xlsx"):
        assert run("book", "export", name, "--data", "data").exit_code == 0
    assert (at / "out.csv").read_bytes() == DEMO.read_bytes()
    assert run("book", "check", "out.xlsx").stdout == run("book", "check", DEMO).stdout


def test_a_book_with_mistakes_changes_nothing(run: Run, at: Path) -> None:
    run("book", "import", DEMO, "--data", "data")
    (at / "book.csv").write_text(TWO_MISTAKES, "utf-8")
    refused = run("book", "import", "book.csv", "--data", "data")
    assert refused.exit_code == 2
    assert "book.csv has 2 mistakes; nothing was taken over" in refused.stderr
    run("book", "export", "out.csv", "--data", "data")
    assert (at / "out.csv").read_bytes() == DEMO.read_bytes()


def test_the_schema_is_a_data_package(run: Run, at: Path) -> None:
    assert run("book", "schema", "--to", "datapackage.json", "--for", "mine.csv").exit_code == 0
    assert json.loads((at / "datapackage.json").read_text("utf-8"))["resources"][0]["path"] == "mine.csv"
