"""Words per second of finding, how the time grows with the text, and what loading the lexicon costs.

    python tests/benchmarks/find_speed.py [--profile 20]

The text does not repeat itself: the labelled narrations of models/training with their marks taken off, and the
complaint narratives of tests/data/nhtsa.
"""

import cProfile
import csv
import io
import os
import pstats
import re
import statistics
import tempfile
import time
from collections.abc import Callable
from typing import Any

import click
from tables import CHECKOUT, table, write_result

from narrate.find.mining import text_recording
from narrate.find.vocabulary import vocabulary
from narrate.pipeline import process_words
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

MARK = re.compile(r"\[([^\[\]{}]+)\]\{[^{}]*\}")
SMALLEST = 850
"""Words of the 1x text, a long walk-round; a hundred times as many is about all the text there is."""
GROWTH = (1, 10, 100)


def narrations() -> list[str]:
    """What is said in each labelled narration."""
    paths = sorted((CHECKOUT / "models" / "training").glob("*.txt"))
    bodies = (re.split(r"^---\s*$", path.read_text("utf-8"), maxsplit=2, flags=re.M)[1] for path in paths)
    return [" ".join(MARK.sub(r"\1", body).split()) for body in bodies]


def complaints() -> list[str]:
    """What drivers wrote, in lower case: they wrote in capitals."""
    path = CHECKOUT / "tests" / "data" / "nhtsa" / "complaints_50.tsv"
    with path.open(encoding="utf-8", newline="") as stream:
        reader = csv.DictReader(stream, delimiter="\t", quoting=csv.QUOTE_NONE)
        return [row["narrative"].lower() for row in reader]


def median_s(run: Callable[[], object], times: int) -> float:
    """Median seconds of several runs."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        run()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def loading() -> dict[str, float]:
    """Seconds to read the lexicon with an empty cache, with a filled one, and to make it ready for finding."""
    before = os.environ.get("NARRATE_CACHE")
    with tempfile.TemporaryDirectory() as folder:
        os.environ["NARRATE_CACHE"] = folder
        cold = median_s(load_lexicon, 1)
        cached = median_s(load_lexicon, 5)
    if before is None:
        del os.environ["NARRATE_CACHE"]
    else:
        os.environ["NARRATE_CACHE"] = before
    ready = median_s(lambda: vocabulary(load_lexicon()), 1) - cached
    return {"cold_s": round(cold, 3), "cached_s": round(cached, 3), "ready_s": round(ready, 3)}


def find_in(texts: list[str], lexicon: Lexicon) -> tuple[int, float]:
    """Find in each text by itself; return the number of findings and the seconds it took.

    The words are there before the clock starts, and of one text at a time, as when a recording has been heard.
    """
    settings = Settings()
    found, seconds = 0, 0.0
    for text in texts:
        words = text_recording(text)
        start = time.perf_counter()
        walkaround = process_words([words], settings=settings, lexicon=lexicon)
        seconds += time.perf_counter() - start
        found += len(walkaround.findings)
    return found, seconds


def growth(words: list[str], lexicon: Lexicon) -> list[dict[str, Any]]:
    """One recording of 1x, 10x and 100x the words, none of them twice."""
    rows: list[dict[str, Any]] = []
    for times in GROWTH:
        count = min(SMALLEST * times, len(words))
        text = " ".join(words[:count])
        seconds = statistics.median(find_in([text], lexicon)[1] for _ in range(3 if times < 100 else 1))
        rows.append(
            {"times": times, "words": count, "seconds": round(seconds, 3), "words_per_s": round(count / seconds)}
        )
    return rows


def profiled(texts: list[str], lexicon: Lexicon, lines: int) -> str:
    """The functions that took the most time of their own."""
    profile = cProfile.Profile()
    profile.runcall(find_in, texts, lexicon)
    stream = io.StringIO()
    pstats.Stats(profile, stream=stream).sort_stats("tottime").print_stats(lines)
    return stream.getvalue()


@click.command()
@click.option("--profile", "lines", type=click.IntRange(min=1), help="Also show this many lines of a profile.")
def main(lines: int | None) -> None:
    """Measure finding in text."""
    loads = loading()
    lexicon = load_lexicon()
    vocabulary(lexicon)
    texts = [*narrations(), *complaints()]
    words = [word for text in texts for word in text.split()]
    find_in(texts[:5], lexicon)
    found, seconds = find_in(texts, lexicon)
    rows = growth(words, lexicon)
    result = {
        "lexicon": loads,
        "narrations": {"texts": len(texts), "words": len(words), "findings": found, "seconds": round(seconds, 3)},
        "words_per_s": round(len(words) / seconds),
        "growth": rows,
        "growth_100x_over_1x": round(
            rows[-1]["seconds"] / rows[0]["seconds"] * rows[0]["words"] / rows[-1]["words"], 2
        ),
    }
    click.echo(
        f"{len(texts)} texts of their own, {len(words)} words, {found} findings: {result['words_per_s']} words/s"
    )
    click.echo(
        table(("one text of", "words", "seconds", "words/s"), [[f"{r['times']}x", *list(r.values())[1:]] for r in rows])
    )
    click.echo(f"time a word at 100x over 1x: {result['growth_100x_over_1x']}")
    click.echo(f"lexicon: read cold {loads['cold_s']} s, cached {loads['cached_s']} s, made ready {loads['ready_s']} s")
    if lines:
        click.echo(profiled(texts[:60], lexicon, lines))
    click.echo(f"wrote {write_result('find_speed', result)}", err=True)


if __name__ == "__main__":
    main()
