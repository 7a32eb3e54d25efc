"""Seconds to check and load a price book of 20,000 rows, and to write one.

    python tests/benchmarks/price_speed.py [--rows 20000] [--times 7]

The book is the demo book over and over, each time for another make of vehicle, so that every row is checked against
all others. The lexicon is there before the clock starts. Processor time stands beside it: other work on the machine
lengthens the one and hardly the other.
"""

import os
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from tables import CHECKOUT, table, write_result

from narrate.price.book_file import check_file, read_book, write_book
from narrate.records.price_book import Book, Operation, Part
from narrate.words.load import load_lexicon

DEMO = CHECKOUT / "lexicon" / "prices" / "demo_book.csv"
ALLOWED_S = 2.0
"""What a CSV of 20,000 rows may take."""


def many(book: Book, rows: int) -> Book:
    """The book with so many rows at least."""
    times = -(-rows // (len(book.operations) + len(book.parts)))

    def renamed(row: Operation | Part, number: int) -> dict[str, Any]:
        return {"key": f"{row.key}.{number}", "scope": row.scope.model_copy(update={"make": f"Make {number}"})}

    operations = (
        row.model_copy(update=renamed(row, n) | {"requires": tuple(f"{key}.{n}" for key in row.requires)})
        for n in range(times)
        for row in book.operations
    )
    parts = (row.model_copy(update=renamed(row, n)) for n in range(times) for row in book.parts)
    return book.model_copy(update={"operations": tuple(operations), "parts": tuple(parts)})


def timed(run: Callable[[], object], times: int) -> dict[str, float]:
    """The best of several runs: seconds by the clock, and of the processor."""
    taken = []
    for _ in range(times):
        wall, processor = time.perf_counter(), time.process_time()
        run()
        taken.append((time.perf_counter() - wall, time.process_time() - processor))
    return {"wall_s": round(min(t for t, _ in taken), 3), "processor_s": round(min(t for _, t in taken), 3)}


@click.command()
@click.option("--rows", default=20_000, show_default=True)
@click.option("--times", default=7, show_default=True)
def main(rows: int, times: int) -> None:
    """Time reading and writing."""
    lexicon = load_lexicon()
    book = many(read_book(DEMO, lexicon), rows)
    figures: dict[str, dict[str, float]] = {}
    with tempfile.TemporaryDirectory() as folder:
        for name in ("book.csv", "book.xlsx"):
            path = Path(folder) / name
            figures[f"write {name}"] = timed(lambda path=path: write_book(book, path), 2)
            again = check_file(path, lexicon).book
            assert again.model_copy(update={"digest": book.digest}) == book, f"{name} is not the book that was written"
            figures[f"check and load {name}"] = timed(lambda path=path: check_file(path, lexicon), times)
    count = len(book.operations) + len(book.parts)
    click.echo(
        table(["what", "wall s", "processor s"], [[k, v["wall_s"], v["processor_s"]] for k, v in figures.items()])
    )
    write_result("price_speed", {"rows": count, "allowed_s": ALLOWED_S, "load_average": os.getloadavg()[0], **figures})


if __name__ == "__main__":
    main()
