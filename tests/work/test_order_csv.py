"""Orders as a CSV: read as spreadsheets save them, every mistake told, all or nothing."""

from datetime import date, datetime

import pytest

from narrate.errors import UsageError
from narrate.records.order import Order
from narrate.work.order_csv import COLUMNS, MOST_ROWS, MOST_TOLD, example_csv, read_orders
from narrate.work.order_fields import fields_of, order_from_fields

HEADING = ",".join(COLUMNS)


def test_the_example_is_read() -> None:
    (order,) = read_orders(example_csv(), "example.csv")
    assert ("1042", "Honda", 2016, "7ABC123") == (
        order.number,
        order.vehicle.make,
        order.vehicle.year,
        order.vehicle.plate,
    )
    assert order.concerns == ("grinding when braking", "check engine light")
    assert order.promised == datetime(2026, 11, 27, 17, 0)
    assert order.customer.email == "dana@example.com"
    assert order.payer is None


@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_delimiters_and_the_mark_of_utf8(delimiter: str, mark: bytes) -> None:
    text = "Number;Customer;Concerns;;\r\n7;Zoë;squeal | drift;;\r\n\r\n8;Ann;;;\r\n".replace(";", delimiter)
    orders = read_orders(mark + text.encode(), "o.csv")
    assert [(order.number, order.customer.name, order.concerns) for order in orders] == [
        ("7", "Zoë", ("squeal", "drift")),
        ("8", "Ann", ()),
    ]


def test_every_mistake_is_told_with_row_and_column() -> None:
    text = (
        f"{HEADING}\n"
        "1,Ann,none,ann,7A,IOQIOQIOQIOQIOQIO,99,,,soon,,,perhaps,\n"
        "2,Ben,,,,,,,,,,,,\n"
        "2,Cid,,,,,,,,,,,,\n"
        "3,Dan,,,,,,,,,,,,\n"
        ",,,,,,,Ford,,,,,,\n"
        "4,Eve,,,,,,,,,,,,,over\n"
    )
    with pytest.raises(UsageError) as told:
        read_orders(text.encode(), "o.csv", taken={"3"})
    head, *lines = str(told.value).splitlines()
    assert head == "o.csv has 10 mistakes; nothing was taken over:"
    assert [line.strip().split(" ")[:3] for line in lines] == [
        ["row", "2,", "phone:"],
        ["row", "2,", "email:"],
        ["row", "2,", "vin:"],
        ["row", "2,", "year:"],
        ["row", "2,", "promised:"],
        ["row", "2,", "inspection:"],
        ["row", "4,", "number:"],
        ["row", "5,", "number:"],
        ["row", "6,", "number:"],
        ["row", "7,", "behind"],
    ]
    assert "row 3 already" in lines[6]
    assert "there is an order 3 already" in lines[7]


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "must begin with a row that names its columns"),
        (b"number,name\n1,Ann", "'name' is none of them"),
        (b"number,number\n1,2", "each once"),
        (b"number,customer\n", "holds no order"),
        ("number,customer\n1,Zoë".encode("latin-1"), r"not in UTF-8 \(row 2\)"),
        ("number,customer\n1,Zoë".encode("utf-16"), "not in UTF-8"),
        ("number,customer\n1,Ann".encode("utf-16-be"), "not a CSV file in UTF-8"),
        (b'number,customer\n1,"Ann', "cannot|can be read"),
    ],
)
def test_what_is_no_list_of_orders(content: bytes, why: str) -> None:
    with pytest.raises(UsageError, match=why):
        read_orders(content, "o.csv")


def test_of_many_mistakes_the_first_are_told() -> None:
    rows = "\n".join(f"{number},Ann,never" for number in range(MOST_TOLD + 5))
    with pytest.raises(UsageError) as told:
        read_orders(f"number,customer,promised\n{rows}".encode(), "o.csv")
    assert str(told.value).endswith("… and 5 more.")
    assert len(str(told.value).splitlines()) == MOST_TOLD + 2


def test_more_orders_than_can_be_taken_at_once_are_refused() -> None:
    rows = "\n".join(map(str, range(MOST_ROWS + 1)))
    with pytest.raises(UsageError, match=f"at most {MOST_ROWS} at a time"):
        read_orders(f"number\n{rows}".encode(), "o.csv")


def test_a_text_with_quotes_commas_and_lines() -> None:
    content = b'number,concerns\n9,"pulls left, ""hard""\nsince May | howls"'
    (order,) = read_orders(content, "o.csv")
    assert order.concerns == ('pulls left, "hard" since May', "howls")


@pytest.mark.parametrize("promised", ["2026-11-27", "2026-11-27 17:30", ""])
def test_a_form_shows_what_it_was_given(promised: str) -> None:
    fields = dict.fromkeys(COLUMNS[:-1], "") | {
        "number": "12",
        "vin": "1hg-bh41jxmn109186",
        "year": "1991",
        "phone": "+1 555 0117",
        "promised": promised,
        "inspection": "yes",
    }
    typed = order_from_fields(fields, ["hums"])
    assert typed.mistakes == ()
    assert isinstance(typed.order, Order)
    assert fields_of(typed.order) == fields | {"vin": "1HGBH41JXMN109186"}


def test_a_promise_without_a_time_is_a_day() -> None:
    typed = order_from_fields({"number": "1", "promised": "2026-11-27"})
    assert typed.order is not None
    assert typed.order.promised == date(2026, 11, 27)


def test_too_long_and_unprintable_fields_are_refused() -> None:
    typed = order_from_fields({"number": "1" * 81, "customer": "Ann\x07", "make": "m" * 201})
    assert [mistake.field for mistake in typed.mistakes] == ["number", "customer", "make"]
