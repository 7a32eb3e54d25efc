"""JSON is the exact record, described by a schema and read back."""

import json
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator
from made_estimates import some_estimate

from narrate.errors import RecordError, UsageError
from narrate.export.json_file import SCHEMA_NAMES, read_walkaround, schema, write_json
from narrate.records.day import Day, DayItem
from narrate.records.walkaround import Measurement, Walkaround


def test_what_is_written_fits_the_schema(walkaround: Walkaround, nothing: Walkaround, tmp_path: Path) -> None:
    """A validator of another hand accepts both a full and an empty walkaround."""
    validator = Draft202012Validator(schema("walkaround"))
    for record in (walkaround, nothing):
        write_json(record, tmp_path / "w.json")
        written = json.loads((tmp_path / "w.json").read_text("utf-8"))
        assert [] == list(validator.iter_errors(written))


def test_what_differs_does_not_fit_the_schema(walkaround: Walkaround) -> None:
    """A number where a decimal string belongs is refused."""
    written = json.loads(walkaround.model_dump_json(by_alias=True))
    written["findings"][0]["measurements"][0]["value"] = 0.4
    assert not Draft202012Validator(schema("walkaround")).is_valid(written)


@pytest.mark.parametrize("name", SCHEMA_NAMES)
def test_each_schema_is_a_schema(name: str) -> None:
    """Each says which draft and which record it is."""
    described = schema(name)
    Draft202012Validator.check_schema(described)
    assert ("https://json-schema.org/draft/2020-12/schema", f"narrate.{name}/1") == (
        described["$schema"],
        described["$id"],
    )


def test_an_unknown_schema_is_refused() -> None:
    """The message names those there are."""
    with pytest.raises(UsageError, match=r"'event'; choose one of case, day, estimate, recording, walkaround"):
        schema("event")


def test_an_estimate_and_a_day_fit_their_schemas() -> None:
    item = DayItem(name="bay.ogg", sha256="0" * 64, walkaround_id="w1")
    for name, record in (("estimate", some_estimate()), ("day", Day(done=(item,)))):
        written = json.loads(record.model_dump_json(by_alias=True))
        assert [] == list(Draft202012Validator(schema(name)).iter_errors(written))
        assert written["schema"] == f"narrate.{name}/1"


def test_names_are_those_of_the_contract(walkaround: Walkaround, tmp_path: Path) -> None:
    """`schema` and `for` are written without the trailing underscore Python needs."""
    write_json(walkaround, tmp_path / "w.json")
    written = json.loads((tmp_path / "w.json").read_text("utf-8"))
    assert ("narrate.walkaround/1", "rebuilt", "0.4") == (
        written["schema"],
        written["findings"][0]["quoted_prices"][0]["for"],
        written["findings"][0]["measurements"][0]["value"],
    )


@given(
    said=st.text(),
    value=st.decimals(allow_nan=False, allow_infinity=False, places=3, min_value=-9999, max_value=9999),
)
def test_the_record_comes_back(said: str, value: Decimal, walkaround: Walkaround) -> None:
    """Reading gives back the record itself, digit by digit."""
    measured = (Measurement(value=value, unit="mm", said=said),)
    finding = walkaround.findings[0].model_copy(update={"measurements": measured})
    record = walkaround.model_copy(update={"findings": (finding,)})
    with TemporaryDirectory() as folder:
        path = Path(folder, "w.json")
        write_json(record, path)
        again = read_walkaround(path)
    assert record == again
    assert str(value) == str(again.findings[0].measurements[0].value)


def test_fields_of_a_later_program_are_kept(walkaround: Walkaround, tmp_path: Path) -> None:
    """An unknown field is read and written back."""
    written = json.loads(walkaround.model_dump_json(by_alias=True))
    written["findings"][0]["mood"] = "good"
    (tmp_path / "a.json").write_text(json.dumps(written), "utf-8")
    write_json(read_walkaround(tmp_path / "a.json"), tmp_path / "b.json")
    assert written == json.loads((tmp_path / "b.json").read_text("utf-8"))


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "is not JSON"),
        (b"{", "is not JSON"),
        (b"\xff\xfe{}", "is not JSON"),
        (b"[" * 100_000, "is not JSON"),
        (b"[]", "its schema is None"),
        (b"{}", "its schema is None"),
        (b'{"schema": "narrate.walkaround/2"}', r"its schema is 'narrate\.walkaround/2'"),
        (b'{"schema": "narrate.walkaround/1"}', r"at made_by: Field required; correct"),
        (b'{"schema": "narrate.walkaround/1", "findings": [{"id": 1}]}', r"made_by.* more like this\)"),
    ],
)
def test_a_bad_file_is_told_in_a_sentence(content: bytes, message: str, tmp_path: Path) -> None:
    """The message names the file and where it differs."""
    path = tmp_path / "bad.json"
    path.write_bytes(content)
    with pytest.raises(RecordError, match=rf"^\S*bad\.json .*{message}"):
        read_walkaround(path)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """A file that is not there is no traceback."""
    with pytest.raises(RecordError, match=r"none\.json cannot be read"):
        read_walkaround(tmp_path / "none.json")
