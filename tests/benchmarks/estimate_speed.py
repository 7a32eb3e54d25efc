"""Milliseconds to price 60 findings with a price book of 20,000 rows.

    python tests/benchmarks/estimate_speed.py [--rows 20000] [--findings 60]

The book is the demo book over and over, as in price_speed.py; the findings are one for each of its operations. The
first pricing makes the book's index; the others have it. Processor time stands beside the clock's: other work on the
machine lengthens the one and hardly the other.
"""

import time

import click
from price_speed import DEMO, many
from tables import table, write_result

from narrate.price.book_file import read_book
from narrate.price.estimating import make_estimate
from narrate.records.price_book import Book
from narrate.records.walkaround import (
    Component,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    Recommendation,
    Vehicle,
    Walkaround,
)
from narrate.words.load import load_lexicon

ALLOWED_MS = 100
SURE = Confidence(overall=1, component=1, location=1, condition=1, recommendation=1)


def walkaround(book: Book, count: int) -> Walkaround:
    """So many findings that the book has work for."""
    findings = tuple(
        Finding(
            id=f"f{number}",
            component=Component(id=row.component, name=row.component.replace("_", " "), system="", heard=""),
            locations=row.locations or ("front left",),
            status="fault",
            recommendation=Recommendation(action=row.action),
            evidence=(Evidence(recording="r1", first_word=0, last_word=0, said=""),),
            confidence=SURE,
        )
        for number, row in enumerate(book.operations[:count], 1)
    )
    made = MadeBy(program="narrate", lexicon="", settings="")
    return Walkaround(made_by=made, vehicle=Vehicle(make="Make 7", year=2015), findings=findings)


@click.command()
@click.option("--rows", default=20_000, show_default=True)
@click.option("--findings", default=60, show_default=True)
def main(rows: int, findings: int) -> None:
    """Time pricing."""
    lexicon = load_lexicon()
    demo = read_book(DEMO, lexicon)
    book, walk = many(demo, rows), walkaround(demo, findings)
    wall, processor = [], []
    for _ in range(21):
        start, busy = time.perf_counter(), time.process_time()
        made = make_estimate(walk, book, lexicon, made_at="")
        wall.append((time.perf_counter() - start) * 1000)
        processor.append((time.process_time() - busy) * 1000)
    figures = {
        "first_ms": round(wall[0], 1),
        "first_processor_ms": round(processor[0], 1),
        "median_ms": round(sorted(wall[1:])[10], 1),
        "median_processor_ms": round(sorted(processor[1:])[10], 1),
        "jobs": len(made.jobs),
        "lines": sum(len(choice.lines) for job in made.jobs for choice in job.choices),
        "to_be_priced": len(made.to_be_priced),
    }
    click.echo(table(list(figures), [list(figures.values())]))
    write_result(
        "estimate_speed", {"rows": len(book.operations) + len(book.parts), "allowed_ms": ALLOWED_MS, **figures}
    )


if __name__ == "__main__":
    main()
