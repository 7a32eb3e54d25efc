"""The Table Schema tells the very columns that are read."""

import jsonschema
import pytest

from narrate.price.book_rows import LISTS, RECORDS, SCOPE, SETTINGS
from narrate.price.book_schema import COLUMNS, NAMES, ROW_KINDS, RowKind, columns_of, datapackage
from narrate.price.currencies import MINOR_DIGITS, smallest_unit
from narrate.records.price_book import Book


def test_every_column_is_a_field_in_the_order_of_the_file() -> None:
    (resource,) = datapackage("mine.csv")["resources"]
    assert resource["path"] == "mine.csv"
    fields = resource["schema"]["fields"]
    assert [field["name"] for field in fields] == list(NAMES)
    assert fields[0]["constraints"] == {"required": True, "enum": list(ROW_KINDS)}
    assert {field["type"] for field in fields} == {"string", "number", "integer", "boolean"}


def test_fields_have_the_shape_that_the_table_schema_asks_for() -> None:
    """The part of the Table Schema profile (specs.frictionlessdata.io) that a field must keep to; from memory."""
    field = {
        "type": "object",
        "required": ["name", "type"],
        "properties": {
            "name": {"type": "string"},
            "type": {"enum": ["string", "number", "integer", "boolean"]},
            "description": {"type": "string"},
            "constraints": {
                "type": "object",
                "properties": {
                    "required": {"type": "boolean"},
                    "enum": {"type": "array", "uniqueItems": True, "minItems": 1},
                    "minimum": {"type": ["string", "number"]},
                },
                "additionalProperties": False,
            },
        },
    }
    for each in datapackage()["resources"][0]["schema"]["fields"]:
        jsonschema.validate(each, field)


@pytest.mark.parametrize("kind", sorted(RECORDS))
def test_the_columns_of_a_kind_are_the_fields_of_its_record(kind: RowKind) -> None:
    fields = set(RECORDS[kind].model_fields)
    if "scope" in fields:
        fields = fields - {"scope"} | set(SCOPE)
    assert {column.name for column in columns_of(kind)} == fields


def test_the_settings_are_the_other_fields_of_the_book() -> None:
    assert {column.name for column in columns_of("settings")} == set(SETTINGS)
    assert set(SETTINGS) | set(LISTS.values()) | {"supplies", "digest"} == set(Book.model_fields)


def test_a_column_is_needed_only_where_it_may_be_filled_in() -> None:
    assert all(set(column.needed) <= set(column.kinds) for column in COLUMNS)
    assert len(set(NAMES)) == len(NAMES)


def test_currencies_have_their_smallest_units() -> None:
    """ISO 4217: the yen has no smaller unit, the Bahraini dinar a thousandth (compared with Babel 2.x by hand)."""
    assert [str(smallest_unit(code)) for code in ("USD", "JPY", "BHD")] == ["0.01", "1", "0.001"]
    assert all(len(code) == 3 and code.isupper() for code in MINOR_DIGITS)
