"""All files of an estimate at once, the job sheet among them once there is work to do."""

from decimal import Decimal
from pathlib import Path

import pytest
from made_estimates import BEARING_JOB, HUB_NUT_JOB, PADS_JOB, some_estimate, some_walkaround

from narrate.errors import NarrateError
from narrate.export import estimate_files
from narrate.export.estimate_files import write_estimate
from narrate.export.estimate_page import Document, digest_holds
from narrate.export.estimate_pdf import PangoMissing
from narrate.export.job_sheet import job_sheet
from narrate.export.sums_said import DIGITS, say_day, say_digest, say_sum
from narrate.price.currencies import MINOR_DIGITS
from narrate.records.estimate import Outcome
from narrate.words.place_rules import place_rules

FORMATS = ["estimate.csv", "estimate.html", "estimate.json", "estimate.pdf", "estimate.xlsx"]


def test_every_format_is_written(tmp_path: Path) -> None:
    """Five files; no job sheet while nothing is authorized."""
    paths, why = write_estimate(some_estimate(), some_walkaround(), tmp_path / "new", place=place_rules("us"))
    assert why is None
    assert FORMATS == sorted(path.name for path in paths) == sorted(path.name for path in (tmp_path / "new").iterdir())
    assert digest_holds((tmp_path / "new/estimate.html").read_text("utf-8"))
    assert (tmp_path / "new/estimate.pdf").read_bytes().startswith(b"%PDF-1.7")


def test_without_pango_the_rest_is_written(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The PDF alone is missing, and why is told."""

    def fails(page: Document, *, paper: str) -> bytes:
        message = f"no Pango for {paper}"
        raise PangoMissing(message)

    monkeypatch.setattr(estimate_files, "pdf_of", fails)
    paths, why = write_estimate(some_estimate(), some_walkaround(), tmp_path, place=place_rules("us"))
    assert "no Pango for letter" == why
    assert [name for name in FORMATS if not name.endswith("pdf")] == sorted(path.name for path in paths)


def test_a_folder_that_cannot_be_made_is_told(tmp_path: Path) -> None:
    """Nothing is written where a file stands in the way."""
    (tmp_path / "file").write_text("", "utf-8")
    with pytest.raises(NarrateError, match="cannot be made"):
        write_estimate(some_estimate(), some_walkaround(), tmp_path / "file", place=place_rules("us"))


def test_the_job_sheet_has_the_authorized_work_and_no_prices(tmp_path: Path) -> None:
    """What to do, what to fit and whether it is there, boxes to tick, and what must not be done."""
    done = BEARING_JOB.model_copy(update={"state": "authorized", "chosen": "k1"})
    left = PADS_JOB.model_copy(update={"state": "declined"})
    outcome = Outcome(job="j1", at="2026-11-27", by="Ann", what="part_ordered", promised="2026-11-30")
    estimate = some_estimate(jobs=(done, left, HUB_NUT_JOB), outcomes=(outcome,), old_parts="asked_back")
    html = job_sheet(estimate, some_walkaround()).html
    for text in (
        "1 job is authorized. Nothing else is to be done.",
        "1. Replace wheel bearing, front right",
        "Labor: Fit it, 1.6 h",
        "<td>Wheel bearing (new)</td><td>HB-201</td><td>1 each</td><td>1</td>",
        "ordered, promised for 30 November 2026",
        "Told already: 27 November 2026, Ann: parts ordered",
        "2. Replace brake pads, rear left and rear right: declined",
        "3. Hub nut &lt;new&gt;: offered",
        "Replace weatherstrip, left: still to be priced",
        "keep for the customer",
        "found worse",
    ):
        assert text in html
    assert "$" not in html.split("</style>")[1]
    assert "Brake pads, rear set" not in html
    assert digest_holds(html)
    paths, _ = write_estimate(estimate, some_walkaround(), tmp_path, place=place_rules("us"))
    assert {"job_sheet.html", "job_sheet.pdf"} <= {path.name for path in paths}


def test_sums_are_written_in_the_digits_of_their_currency() -> None:
    """The digits agree with those that prices are rounded to; nothing is rounded here."""
    assert {c: n for c, n in MINOR_DIGITS.items() if n != 2} == DIGITS
    assert ["$1,234.50", "−£0.05", "1,200 JPY", "0.125 KWD", "0.005 KWD", "€0.00"] == [
        say_sum(Decimal(amount), currency)
        for amount, currency in (
            ("1234.5", "USD"), ("-0.05", "GBP"), ("1.2E+3", "JPY"), ("0.125", "KWD"), ("0.005", "KWD"), ("0", "EUR"),
        )
    ]  # fmt: skip


def test_days_and_digests_are_written_for_people() -> None:
    """A day, a day with its time, what is no day at all; sixteen digits in fours."""
    assert ["27 November 2026", "27 November 2026, 09:50 UTC", "27 November 2026, 17:00", "soon", ""] == [
        say_day(told) for told in ("2026-11-27", "2026-11-27T09:50:00.123Z", "2026-11-27T17:00", "soon", None)
    ]
    assert "0123 4567 89ab cdef" == say_digest("sha256:0123456789abcdef0123")
