"""Seconds to open a price book of 20,000 rows from the store, and to sum and remind over many estimates.

    python tests/benchmarks/estimate_store_speed.py [--rows 20000] [--estimates 1000] [--times 7]

`open` reads the book as a program does that has just begun; `open again` in one that has read it before. Processor
time stands beside: other work on the machine lengthens the one and hardly the other.
"""

import os
import tempfile
from datetime import date
from decimal import Decimal
from pathlib import Path

import click
from price_speed import DEMO, many, timed
from tables import table, write_result

from narrate.price.book_file import read_book as read_file
from narrate.records.estimate import Choice, Estimate, Job
from narrate.records.walkaround import MadeBy, Vehicle, Walkaround
from narrate.store import books
from narrate.store.engine import Store, open_store
from narrate.store.estimate_rows import add_estimate_within
from narrate.store.estimates import find_estimates
from narrate.store.keeping import add_within
from narrate.store.offers import offers
from narrate.words.load import load_lexicon
from narrate.work.reminders import reminders

ALLOWED_S = 0.2
"""What opening a book of 20,000 rows may take."""
JOBS = (("brake_pads", "authorized"), ("struts", "declined"), ("battery", "offered"))


def fill(store: Store, estimates: int) -> None:
    """Put in a walkaround and an estimate of three jobs each time, every fourth with a job that was declined."""
    made_by = MadeBy(program="benchmark", lexicon="", settings="")
    way = Choice(id="k1", label="new", lines=(), subtotal=Decimal("96.40"))
    with store.writing() as connection:
        for number in range(estimates):
            seen = Walkaround(made_by=made_by, vehicle=Vehicle(plate=f"P {number}", make="Ford", model="F-150"))
            about = add_within(connection, seen, who="benchmark").id
            states = [state if number % 4 == 0 else "authorized" for _, state in JOBS]
            jobs = tuple(
                Job(id=f"j{n}", title=component, component=component, state=state, choices=(way,))
                for n, ((component, _), state) in enumerate(zip(JOBS, states, strict=True), 1)
            )
            made = Estimate(
                walkaround_id=about, draft=False, currency="USD", place="unknown", made_at="2026-01-02", jobs=jobs
            )
            add_estimate_within(connection, made, who="benchmark")


@click.command()
@click.option("--rows", default=20_000, show_default=True)
@click.option("--estimates", default=1_000, show_default=True)
@click.option("--times", default=7, show_default=True)
def main(rows: int, estimates: int, times: int) -> None:
    """Time the store."""
    lexicon = load_lexicon()
    book = many(read_file(DEMO, lexicon), rows)
    figures: dict[str, dict[str, float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        store = open_store(Path(folder) / "data")
        figures["keep the book"] = timed(lambda: books.keep_book(store, book, who="benchmark"), 1)

        def open_first() -> None:
            books.forget()
            books.read_book(store)

        figures["open"] = timed(open_first, times)
        figures["open again"] = timed(lambda: books.read_book(store), times)
        dearer = book.parts[0].model_copy(update={"price": Decimal("1.00")})
        figures["change a row"] = timed(lambda: books.keep_row(store, dearer, who="benchmark"), 1)
        fill(store, estimates)
        everything = {"since": date(2000, 1, 1), "until": date(2999, 1, 1)}
        figures["sums of all estimates"] = timed(lambda: offers(store, **everything, lexicon=lexicon), times)
        figures["find an estimate"] = timed(lambda: find_estimates(store, query="ford e77"), times)
        figures["all reminders"] = timed(lambda: reminders(store, today=date(2026, 1, 2), until=date(2099, 1, 1)), 1)
        store.close()
    click.echo(
        table(["what", "wall s", "processor s"], [[k, v["wall_s"], v["processor_s"]] for k, v in figures.items()])
    )
    count = len(book.operations) + len(book.parts)
    told = {"rows": count, "estimates": estimates, "allowed_s": ALLOWED_S, "load_average": os.getloadavg()[0]}
    write_result("estimate_store_speed", {**told, **figures})


if __name__ == "__main__":
    main()
