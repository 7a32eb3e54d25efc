"""CSV holds everything said and never runs in a spreadsheet."""

import csv
import re
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st

from narrate.export.csv_file import guarded, write_csv
from narrate.export.rows import FINDING_COLUMNS
from narrate.records.walkaround import Measurement, QuotedPrice, Walkaround


def read_back(walkaround: Walkaround) -> list[dict[str, str]]:
    with TemporaryDirectory() as folder:
        path = Path(folder, "out.csv")
        write_csv(walkaround, path)
        with path.open(encoding="utf-8", newline="") as stream:
            return list(csv.DictReader(stream, strict=True))


def with_said(walkaround: Walkaround, said: str) -> Walkaround:
    finding = walkaround.findings[0]
    evidence = finding.evidence[0].model_copy(update={"said": said})
    changed = finding.model_copy(update={"evidence": (evidence,), "reason": said})
    return walkaround.model_copy(update={"findings": (changed,)})


def test_every_finding_stretch_and_concern_has_a_row(walkaround: Walkaround) -> None:
    """Findings come first, then what was not understood, then concerns."""
    rows = read_back(walkaround)
    assert [("finding", f"f{n}") for n in (1, 2, 3, 4)] + [
        ("not understood", "u1"),
        ("concern", "c1"),
    ] == [(row["kind"], row["id"]) for row in rows]


def test_a_row_says_what_was_found(walkaround: Walkaround) -> None:
    """Each column holds the words of the record, lists joined by semicolons."""
    row = read_back(walkaround)[0]
    assert {
        "component": "wheel bearing",
        "locations": "front right",
        "status": "fault",
        "conditions": "play (suspected)",
        "recommendation": "replace, otherwise adjust",
        "measurements": "about 0.4 mm front right",
        "price": "140.00",
        "currency": "USD",
        "prices": "$140.00 (rebuilt)",
        "urgency": "before it is driven again: the wheel may come off",
        "start_s": "69.2",
        "end_s": "73.7",
        "recording": "bay2.m4a",
        "said": "the will bearing has play … =that bearing again",
        "answers": "grinding when turning",
        "confidence": "0.95",
        "doubts": "heard 'will bearing'; it could also be ball joint",
        "review": "unreviewed",
    }.items() <= row.items()


def test_lines_end_as_the_standard_asks(walkaround: Walkaround, tmp_path: Path) -> None:
    """Every line ends in CR LF, the first is the header."""
    write_csv(walkaround, tmp_path / "a.csv")
    lines = (tmp_path / "a.csv").read_bytes().split(b"\r\n")
    assert (b"", b"kind") == (lines[-1], lines[0].split(b",")[0])
    assert not [line for line in lines if b"\n" in line]


@pytest.mark.parametrize("start", [*"=+-@\t\r\n\0", "＝", "＋", "－", "＠"])
def test_text_that_would_run_is_guarded(start: str, walkaround: Walkaround) -> None:
    """A text cell never starts with what starts a formula, whatever column it is in."""
    row = read_back(with_said(walkaround, f"{start}1+1"))[0]
    assert [f"'{start}1+1"] * 2 == [row["said"], row["reason"]]


@given(said=st.text())
def test_texts_come_back(said: str, walkaround: Walkaround) -> None:
    """The standard reader gives back each text as it was, guard included, in as many columns."""
    row = read_back(with_said(walkaround, said))[0]
    assert [guarded(said)] * 2 == [row["said"], row["reason"]]
    assert [column.name for column in FINDING_COLUMNS] == list(row)


@given(said=st.text())
def test_no_cell_starts_a_formula(said: str, walkaround: Walkaround) -> None:
    """Whatever was said, only numbers may start with a sign."""
    cells = [cell for row in read_back(with_said(walkaround, said)) for cell in row.values()]
    risky = [cell for cell in cells if re.match("[=+\\-@\t\r\n\0＝＋－＠]", cell)]
    assert [] == risky


@given(amount=st.decimals(allow_nan=False, allow_infinity=False, places=2, min_value=-1000, max_value=1000))
def test_numbers_stay_numbers(amount: Decimal, walkaround: Walkaround) -> None:
    """A negative amount carries no guard and comes back exactly."""
    price = QuotedPrice(amount=amount, currency="USD", said="it")
    finding = walkaround.findings[0].model_copy(update={"quoted_prices": (price,)})
    row = read_back(walkaround.model_copy(update={"findings": (finding,)}))[0]
    assert (amount, amount.as_tuple()) == (Decimal(row["price"]), Decimal(row["price"]).as_tuple())


def test_a_number_never_has_an_exponent(walkaround: Walkaround) -> None:
    """`1E+3` is written as 1000."""
    finding = walkaround.findings[0].model_copy(
        update={"measurements": (Measurement(value=Decimal("1E+3"), unit="mi", said="a thousand"),)}
    )
    row = read_back(walkaround.model_copy(update={"findings": (finding,)}))[0]
    assert "1000 mi" == row["measurements"]


def test_two_prices_leave_the_price_column_empty(walkaround: Walkaround) -> None:
    """Nobody can say which of two prices to add up, so both stand in words only."""
    price = walkaround.findings[0].quoted_prices[0]
    finding = walkaround.findings[0].model_copy(update={"quoted_prices": (price, price)})
    row = read_back(walkaround.model_copy(update={"findings": (finding,)}))[0]
    assert ("", "$140.00 (rebuilt); $140.00 (rebuilt)") == (row["price"], row["prices"])


def test_nothing_found_leaves_the_header(nothing: Walkaround) -> None:
    """An empty walkaround is a header without rows."""
    assert [] == read_back(nothing)
