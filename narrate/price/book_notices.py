"""What is no mistake in a price book and may surprise someone, one sentence each."""

from collections.abc import Iterator

from narrate.price.book_check import TAXED_KINDS
from narrate.price.book_rows import quantity_of
from narrate.records.price_book import Book
from narrate.words.lexicon import Lexicon
from narrate.words.place_rules import place_rules

NEED_PARTS = frozenset({"replace", "install"})
UNKNOWN = "unknown"
NAMED = 5


def notices(book: Book, lexicon: Lexicon) -> tuple[str, ...]:
    """A place without rules, kinds without tax, work without parts, parts without work, makes that are not known."""
    return (*_place(book), *_untaxed(book), *_apart(book), *_makes(book, lexicon))


def _place(book: Book) -> Iterator[str]:
    if book.place != UNKNOWN and place_rules(book.place).key == UNKNOWN:
        yield f"There are no rules for the place '{book.place}': estimates ask for all that any place does."


def _untaxed(book: Book) -> Iterator[str]:
    taxed = {kind for rule in book.taxes for kind in rule.on}
    if not taxed:
        return
    there = {
        "part": book.parts,
        "labor": any(each.hours for each in book.operations),
        "fluid": book.fluids,
        "supplies": book.supplies and book.supplies.taxable,
        "fee": any(fee.taxable for fee in book.fees),
        "sublet": any(each.sublet is not None for each in book.operations),
        "core": any(part.core for part in book.parts),
    }
    gaps = [kind for kind in TAXED_KINDS if there[kind] and kind not in taxed]
    categories = {each.tax_category for each in book.operations} | {each.tax_category for each in book.parts}
    categories |= {each.tax_category for each in book.fluids} | {each.tax_category for each in book.fees}
    gaps += sorted({category for category in categories if category} - taxed)
    if gaps:
        yield f"No tax is on {', '.join(gaps)}, while other lines are taxed; add to a tax row what is taxed with you."


def _apart(book: Book) -> Iterator[str]:
    there = {part.component for part in book.parts}
    replacing = [each for each in book.operations if each.action in NEED_PARTS and each.component not in there]
    bare = [each.key for each in replacing if not (each.sublet or each.fluids or each.with_parts)]
    if bare:
        many = _so_many(bare, "operation replaces", "operations replace")
        yield f"{many} what the book has no part for: {_few(bare)}."
    worked = {each.component for each in book.operations}
    worked |= {quantity_of(item)[0] for each in book.operations for item in each.with_parts}
    idle = [part.key for part in book.parts if part.component not in worked]
    if idle:
        yield f"{_so_many(idle, 'part is', 'parts are')} for components that no operation works on: {_few(idle)}."


def _makes(book: Book, lexicon: Lexicon) -> Iterator[str]:
    known = {said.casefold() for make in lexicon.makes.values() for said in (make.name, *make.aliases)}
    told = {each.scope.make for each in book.operations} | {each.scope.make for each in book.parts}
    strange = sorted(make for make in told if make and make.casefold() not in known)
    if strange:
        many = _so_many(strange, "make is", "makes are")
        yield f"{many} not known to narrate, but will be matched as written: {_few(strange)}."


def _so_many(things: list[str], one: str, many: str) -> str:
    return f"{len(things)} {one if len(things) == 1 else many}"


def _few(things: list[str]) -> str:
    return ", ".join(things[:NAMED]) + (f" and {len(things) - NAMED} more" if len(things) > NAMED else "")
