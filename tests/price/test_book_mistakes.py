"""Every mistake in a price book is told with its row and column, and then nothing is taken over."""

import pytest
from book_rows_for_tests import SMALL, changed

from narrate.errors import UsageError
from narrate.price.book_file import BookMistakes, check_book, check_content
from narrate.words.lexicon import Lexicon


def mistakes(content: bytes, lexicon: Lexicon) -> tuple[str, ...]:
    with pytest.raises(BookMistakes) as caught:
        check_content(content, "book.csv", lexicon)
    return caught.value.mistakes


def test_the_small_book_is_right(lexicon: Lexicon) -> None:
    book = check_content(changed(), "book.csv", lexicon).book
    assert [each.key for each in book.operations] == ["pads", "hose"]
    assert [str(each.percent) for each in book.taxes] == ["7.25"]


@pytest.mark.parametrize(
    ("row", "column", "cell", "told"),
    [
        (7, "hours", "-1", "row 7, hours: '-1' is below 0."),
        (7, "hours", "1.333", "row 7, hours: '1.333' has more than 2 digits behind the point."),
        (7, "hours", "900", "row 7, hours: '900' is above 200."),
        (7, "hours", "", "row 7, hours: is empty, and rows of kind operation without a sublet price need it."),
        (7, "hours", "two", "row 7, hours: 'two' is not a number; write it like 12.50."),
        (
            7,
            "component",
            "brake_padd",
            "row 7, component: the lexicon has no component 'brake_padd'; did you mean brake_pad?",
        ),
        (7, "component", "pads", "row 7, component: the lexicon has no component 'pads'; did you mean brake_pad?"),
        (7, "component", "", "row 7, component: is empty, and rows of kind operation need it."),
        (7, "action", "replce", "row 7, action: the lexicon has no action 'replce'; did you mean replace?"),
        (7, "locations", "left front", "row 7, locations: 'left front' is no location; did you mean front left?"),
        (7, "locations", "frnt", "row 7, locations: 'frnt' is no location; did you mean front?"),
        (7, "per", "wheel", "row 7, per: 'wheel' is none of place, axle, job."),
        (7, "rate", "standart", "row 7, rate: no labor rate is called 'standart'; did you mean standard?"),
        (7, "requires", "hoze", "row 7, requires: no operation is called 'hoze'; did you mean hose?"),
        (7, "requires", "pads", "row 7, requires: the operation requires itself."),
        (8, "requires", "pads", "row 7, requires: pads requires hose requires pads; break the circle."),
        (7, "fluids", "break_fluid*1", "row 7, fluids: no fluid is called 'break_fluid'; did you mean brake_fluid?"),
        (7, "fluids", "brake_fluid*0", "row 7, fluids: 'brake_fluid*0' tells no quantity above 0"),
        (7, "with_parts", "caliper_bolt", "row 7, with_parts: the book has no part for caliper_bolt."),
        (
            7,
            "with_parts",
            "brake_rotr",
            "row 7, with_parts: the lexicon has no component 'brake_rotr'; did you mean brake_rotor?",
        ),
        (7, "key", "front pads", "row 7, key: 'front pads' is no key"),
        (7, "cost", "12", "row 7, cost: rows of kind operation leave this column empty, but it holds '12'."),
        (8, "key", "pads", "row 8, key: pads is the same operation key as row 7."),
        (10, "key", "pads_a", "row 10, key: pads_a is the same key as row 9."),
        (10, "price", "", "row 10, price: the part has neither a price nor a cost."),
        (10, "price", "99999999999", "row 10, price: '99999999999' is larger than any price can be."),
        (4, "cost_from", "10", "row 4, cost_from: no markup begins at 0"),
        (
            5,
            "on",
            "parts",
            "row 5, on: 'parts' is neither a kind of line nor a tax category of a row; did you mean part?",
        ),
        (5, "percent", "725", "row 5, percent: '725' is above 100."),
        (2, "currency", "USDD", "row 2, currency: 'USDD' is no ISO 4217 code of a currency; did you mean USD?"),
        (2, "currency", "", "row 2, currency: is empty, and rows of kind settings need it."),
        (3, "row", "rates", "row 3, row: 'rates' is none of settings"),
        (2, "row", "", "row 2, row: '' is none of settings"),
    ],
)
def test_a_mistake_is_told_with_row_and_column(row: int, column: str, cell: str, told: str, lexicon: Lexicon) -> None:
    found = mistakes(changed((row, column, cell)), lexicon)
    assert any(mistake.startswith(told) for mistake in found), found


def test_all_mistakes_are_told_at_once_in_the_order_of_the_file(lexicon: Lexicon) -> None:
    found = mistakes(changed((10, "price", ""), (7, "hours", "-1"), (2, "currency", "XXX")), lexicon)
    assert [mistake.split(":")[0] for mistake in found] == ["row 2, currency", "row 7, hours", "row 10, price"]


def test_the_error_is_one_text_with_every_mistake(lexicon: Lexicon) -> None:
    with pytest.raises(UsageError, match=r"book\.csv has 2 mistakes; nothing was taken over:\n  row 7.*\n  row 8"):
        check_content(changed((7, "hours", "-1"), (8, "hours", "-2")), "book.csv", lexicon)


def test_a_row_that_is_wrong_elsewhere_is_there_for_others(lexicon: Lexicon) -> None:
    assert mistakes(changed((8, "hours", "-1")), lexicon) == ("row 8, hours: '-1' is below 0.",)


def test_two_operations_for_the_same_work(lexicon: Lexicon) -> None:
    again = changed().decode() + "\r\noperation,pads2,,brake_pad,replace,front,axle,2,,,,,,,,,,,,"
    found = mistakes(again.encode(), lexicon)
    assert found == ("row 12, component: it has the same component, action, locations and vehicles as row 7.",)


def test_cost_without_any_markup(lexicon: Lexicon) -> None:
    without = "\n".join(line for line in SMALL.splitlines() if not line.startswith("markup"))
    assert "row 8, cost: the part has no price, and the book no markup" in mistakes(without.encode(), lexicon)[0]


def test_numbers_with_commas_are_told_once(lexicon: Lexicon) -> None:
    text = changed((7, "hours", '"1,3"'), (8, "hours", '"0,8"'), (9, "cost", '"1,240.00"')).decode()
    found = mistakes(text.encode(), lexicon)
    assert found == (
        "row 7, hours: '1,3' is written with a comma, and 2 more like it; write numbers like 12.50 or 1250.",
    )


@pytest.mark.parametrize("number", ["1_000", "１２", "1e3", "NaN", "Infinity", "$12", "12 USD", "--1"])
def test_only_plain_numbers_are_numbers(number: str, lexicon: Lexicon) -> None:
    assert mistakes(changed((10, "price", number)), lexicon)[0].startswith("row 10, price:")


def test_settings_stand_once(lexicon: Lexicon) -> None:
    none = "\n".join(line for line in SMALL.splitlines() if not line.startswith("settings"))
    assert mistakes(none.encode(), lexicon) == ("There is no row of kind settings; it tells the currency.",)
    twice = changed((3, "row", "settings"), (3, "name", ""), (3, "price", ""), (3, "currency", "EUR"))
    assert "row 3, row: there is a row of kind settings already, row 2." in mistakes(twice, lexicon)


def test_a_gap_in_the_taxes_is_only_a_notice(lexicon: Lexicon) -> None:
    checked = check_content(changed((5, "on", "part")), "book.csv", lexicon)
    assert checked.notices[0].startswith("No tax is on labor, fluid, while other lines are taxed")


def test_a_place_without_rules_is_a_notice(lexicon: Lexicon) -> None:
    book = check_content(changed(), "book.csv", lexicon).book
    assert "no rules for the place 'XX'" in check_book(book.model_copy(update={"place": "XX"}), lexicon)[0]
    assert check_book(book.model_copy(update={"place": "us-fl"}), lexicon) == ()


def test_a_replacement_without_a_part_is_a_notice(lexicon: Lexicon) -> None:
    checked = check_content(changed((11, "component", "brake_line")), "book.csv", lexicon)
    assert "1 operation replaces what the book has no part for: hose." in checked.notices
    assert "1 part is for components that no operation works on: hose_a." in checked.notices


def test_a_book_that_is_no_file_is_checked_by_its_keys(lexicon: Lexicon) -> None:
    book = check_content(changed(), "book.csv", lexicon).book
    twisted = book.model_copy(update={"rates": ()})
    with pytest.raises(BookMistakes, match="operation pads, rate: no labor rate is called 'standard'"):
        check_book(twisted, lexicon)


def test_a_thousand_unknown_names_are_told_quickly(lexicon: Lexicon) -> None:
    rows = "".join(f"\r\npart,p{n},,brake_thing_{n},,,,,,Thing,,,,,1,,,,," for n in range(1000))
    found = mistakes(changed() + rows.encode(), lexicon)
    assert len(found) == 1000
    assert found[-1].startswith("row 1011, component: the lexicon has no component 'brake_thing_999'")
