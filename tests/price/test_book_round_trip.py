"""Whatever book the records allow: written as CSV or XLSX and read again, it is the same."""

from decimal import Decimal

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from narrate.price.book_check import legal_locations
from narrate.price.book_file import book_bytes, check_content
from narrate.price.currencies import MINOR_DIGITS
from narrate.records.price_book import (
    Book,
    Fee,
    Fluid,
    LaborRate,
    Markup,
    Minimum,
    Operation,
    Part,
    Scope,
    Supplies,
    TaxRule,
)
from narrate.words.lexicon import Lexicon

TEXT = (
    st.text(st.characters(exclude_categories=("Cs", "Cc")), min_size=1, max_size=12)
    .map(lambda text: " ".join(text.split()))
    .filter(lambda text: text and "\ufffe" not in text and "\uffff" not in text)
)
WORDS = (
    st.sampled_from(["standard", "=1+1", "'=x", "-5", "@a", "+1", 'a "b", c', "größer; ｜", "'", "yes", "1e5"]) | TEXT
)
KEY = st.from_regex(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,8}", fullmatch=True)
MONEY = st.decimals(0, 99_999_999, places=4) | st.decimals(0, 999, places=2)
HOURS = st.decimals(0, 200, places=2)
QUANTITY = st.decimals(Decimal("0.0001"), 999, places=4)
PERCENT = st.decimals(0, 100, places=3)
YEAR = st.integers(1885, 2200)
CATEGORY = st.none() | st.sampled_from(["tires", "=labor"])
PLACES = st.lists(st.sampled_from(sorted(legal_locations())), max_size=3, unique=True).map(tuple)
PER = st.sampled_from(["place", "axle", "job"])


@st.composite
def scopes(draw: st.DrawFn) -> Scope:
    years = sorted(draw(st.lists(YEAR, min_size=2, max_size=2)))
    return Scope(
        make=draw(st.none() | WORDS),
        model=draw(st.none() | WORDS),
        year_from=draw(st.sampled_from([None, years[0]])),
        year_to=draw(st.sampled_from([None, years[1]])),
    )


def named(draw: st.DrawFn, most: int = 4) -> list[str]:
    return draw(st.lists(KEY, max_size=most, unique=True))


@st.composite
def operations(draw: st.DrawFn, rates: list[str], fluids: list[str], parts: list[Part]) -> tuple[Operation, ...]:
    keys = named(draw)
    made = []
    for number, key in enumerate(keys):
        sublet = draw(st.none() | MONEY)
        hours = Decimal(0) if sublet is not None or not rates else draw(HOURS)
        shared = draw(st.booleans())
        made.append(
            Operation(
                key=key,
                component=draw(st.sampled_from(["brake_pad", "tire", "engine_oil"])),
                # Different work each time: the years are of their own.
                action="replace",
                locations=draw(PLACES),
                per=draw(PER),
                hours=hours,
                rate=draw(st.sampled_from(rates or ["standard"])),
                title=draw(st.none() | WORDS),
                overlaps=draw(WORDS) if shared else None,
                overlap_hours=min(hours, draw(HOURS)) if shared else Decimal(0),
                requires=tuple(draw(st.lists(st.sampled_from(keys[:number]), max_size=2))) if number else (),
                with_parts=tuple(f"{part.component}*2" for part in parts[:1]),
                fluids=tuple(f"{fluid}*0.25" for fluid in fluids[:2]),
                sublet=sublet,
                scope=Scope(make=draw(st.none() | WORDS), year_from=1990 + number, year_to=1990 + number),
                tax_category=draw(CATEGORY),
            )
        )
    return tuple(made)


@st.composite
def parts(draw: st.DrawFn, marked_up: bool) -> list[Part]:
    made = []
    for key in named(draw):
        cost = draw(MONEY) if marked_up and draw(st.booleans()) else None
        made.append(
            Part(
                key=key,
                component=draw(st.sampled_from(["brake_pad", "tire", "oil_filter"])),
                locations=draw(PLACES),
                number=draw(st.none() | WORDS),
                text=draw(WORDS),
                part_is=draw(st.sampled_from(["new", "used", "rebuilt", "reconditioned"])),
                part_maker=draw(st.sampled_from([None, "original_maker", "other_maker"])),
                per=draw(PER),
                cost=cost,
                price=draw(MONEY) if cost is None else draw(st.none() | MONEY),
                core=draw(st.none() | MONEY),
                quantity=draw(QUANTITY),
                scope=draw(scopes()),
                tax_category=draw(CATEGORY),
            )
        )
    return made


@st.composite
def books(draw: st.DrawFn) -> Book:
    rates = draw(st.lists(WORDS, max_size=3, unique=True))
    fluids = named(draw, 3)
    begins = {Decimal(0), *draw(st.lists(MONEY, max_size=3))} if draw(st.booleans()) else set()
    made_parts = draw(parts(marked_up=bool(begins)))
    fees = [
        Fee(key=key, text=draw(WORDS), price=draw(MONEY), per="component" if number % 2 else "document",
            component="tire" if number % 2 else None, taxable=draw(st.booleans()), tax_category=draw(CATEGORY))
        for number, key in enumerate(named(draw, 3))
    ]  # fmt: skip
    low, high = sorted([draw(MONEY), draw(MONEY)])
    supplies = Supplies(percent=draw(PERCENT), of=draw(st.sampled_from(["labor", "labor_and_parts"])), at_least=low,
                        at_most=high, text=draw(WORDS), taxable=draw(st.booleans()))  # fmt: skip
    return Book(
        currency=draw(st.sampled_from(sorted(MINOR_DIGITS))),
        place=draw(st.sampled_from(["unknown", "fl"])),
        basis=draw(st.sampled_from(["line", "document"])),
        rounding=draw(st.sampled_from(["half_up", "half_even", "down"])),
        note=draw(st.none() | WORDS),
        operations=draw(operations(rates, fluids, made_parts)),
        parts=tuple(made_parts),
        fluids=tuple(Fluid(key=key, text=draw(WORDS), unit=draw(WORDS), price=draw(MONEY)) for key in fluids),
        rates=tuple(LaborRate(name=name, price=draw(MONEY)) for name in rates),
        markups=tuple(Markup(cost_from=begin, percent=draw(PERCENT)) for begin in sorted(begins)),
        supplies=supplies if draw(st.booleans()) else None,
        fees=tuple(fees),
        taxes=tuple(
            TaxRule(name=name, percent=draw(PERCENT), on=("part", "labor"))
            for name in draw(st.lists(WORDS, max_size=2, unique=True))
        ),
        minimums=tuple(Minimum(of=of, price=draw(MONEY)) for of in draw(st.sets(st.sampled_from(["job", "document"])))),
    )


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(book=books())
def test_a_csv_is_the_same_book(book: Book, lexicon: Lexicon) -> None:
    content = book_bytes(book)
    again = check_content(content, "book.csv", lexicon).book
    assert again.model_copy(update={"digest": ""}) == book
    assert book_bytes(again) == content


@settings(max_examples=20, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])
@given(book=books())
def test_a_workbook_is_the_same_book(book: Book, lexicon: Lexicon) -> None:
    again = check_content(book_bytes(book, xlsx=True), "book.xlsx", lexicon).book
    assert again.model_copy(update={"digest": ""}) == book
