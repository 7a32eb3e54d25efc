"""What narrate writes, read by programs that are not narrate's."""

import csv
import json
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import jsonschema
import pytest

from narrate.export.files import export_walkaround
from narrate.export.json_file import schema
from narrate.export.rows import FINDING_COLUMNS
from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.walkaround import Walkaround
from narrate.score.cases import CaseFile, read_cases
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon

NARRATIONS = read_cases(Path(__file__).parents[1] / "cases" / "narrations")


@pytest.fixture(scope="session")
def processed(lexicon: Lexicon) -> Callable[[CaseFile], Walkaround]:
    """The walkaround of a case's words."""

    def process(file: CaseFile) -> Walkaround:
        case = file.case
        settings = Settings(market=case.market, drive_side=case.drive_side)
        return process_words([text_recording(case.said, case.id)], settings=settings, lexicon=lexicon)

    return process


narrations = pytest.mark.parametrize("file", NARRATIONS, ids=lambda file: file.case.id)


def test_all_six_narrations_are_there() -> None:
    assert len(NARRATIONS) == 6


@narrations
def test_the_json_file_is_valid_by_the_published_schema(
    file: CaseFile, processed: Callable[[CaseFile], Walkaround], tmp_path: Path
) -> None:
    """Source: the jsonschema package, draft 2020-12, formats checked."""
    walkaround = processed(file)
    assert walkaround.findings
    export_walkaround(walkaround, tmp_path)
    written = json.loads((tmp_path / "findings.json").read_text("utf-8"))
    described = schema("walkaround")
    jsonschema.Draft202012Validator.check_schema(described)
    validator = jsonschema.Draft202012Validator(described)
    assert [error.message for error in validator.iter_errors(written)] == []
    assert len(written["findings"]) == len(walkaround.findings)


@narrations
def test_the_csv_file_reads_back_row_by_row(
    file: CaseFile, processed: Callable[[CaseFile], Walkaround], tmp_path: Path
) -> None:
    """Source: Python's csv module, strict, in its standard dialect."""
    walkaround = processed(file)
    export_walkaround(walkaround, tmp_path)
    with (tmp_path / "findings.csv").open(encoding="utf-8", newline="") as stream:
        head, *rows = list(csv.reader(stream, strict=True))
    assert head == [column.name for column in FINDING_COLUMNS]
    everything = (*walkaround.findings, *walkaround.unplaced, *walkaround.concerns)
    assert len(rows) == len(everything)
    assert {len(row) for row in rows} == {len(head)}


@narrations
def test_measured_values_in_json_are_exact_decimal_strings(
    file: CaseFile, processed: Callable[[CaseFile], Walkaround], tmp_path: Path
) -> None:
    """Source: Python's json module, which would turn a number into a float."""
    walkaround = processed(file)
    export_walkaround(walkaround, tmp_path)
    written = json.loads((tmp_path / "findings.json").read_text("utf-8"))
    for before, after in zip(walkaround.findings, written["findings"], strict=True):
        values = [measured["value"] for measured in after["measurements"]]
        assert all(isinstance(value, str) for value in values)
        assert [Decimal(value) for value in values] == [measured.value for measured in before.measurements]


def test_the_schema_refuses_what_is_no_walkaround() -> None:
    """Source: the jsonschema package; a schema that lets everything through would prove nothing."""
    validator = jsonschema.Draft202012Validator(schema("walkaround"))
    assert list(validator.iter_errors({"schema": "narrate.walkaround/1", "findings": "none"}))
