"""Remake every figure of the checks against published things.

    python tests/benchmarks/outside.py [--shared FOLDER]

Measures find/ on the copies in tests/data and, with --shared, also on the whole files in a folder laid out as
FOLDER/maintie, disfl_qa, nemo_itn, quantulum3, nhtsa_complaints and nhtsa_component_taxonomy. Prints a table and
writes results/outside.json with what was missed or false, the commonest first.
"""

import sys
import time
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
from tables import CHECKOUT, table, write_result

from narrate.score.counts import Share
from narrate.words.load import load_lexicon

sys.path.insert(0, str(CHECKOUT / "tests" / "outside"))

from amount_scores import score_amounts
from asking import Asked
from complaint_scores import score_complaints
from mention_scores import score_calm, score_conditions, score_coverage, score_parts, score_states
from number_scores import amounts_seen, cases, measures_right, numbers_read, prices_right, units_mistaken
from other_talk import score_talk, talks
from part_name_scores import score_names
from published import complaints, quantities, questions, work_orders
from repair_scores import score_repairs

DATA = CHECKOUT / "tests" / "data"
SHOWN = 40
"""How many of the commonest misses are written down."""


@dataclass(frozen=True)
class Place:
    """Where the files lie."""

    maintie: Path
    disfl_qa: Path
    nemo: Path
    quantulum3: Path
    complaints: Path
    part_names: Path


COPIES = Place(
    DATA / "maintie" / "every_third.json",
    DATA / "disfl_qa" / "dev.json",
    DATA / "nemo_itn",
    DATA / "quantulum3" / "quantities.json",
    DATA / "nhtsa" / "complaints_50.tsv",
    DATA / "nhtsa" / "compdesc_top_names.txt",
)


def whole_files(folder: Path) -> Place:
    """The whole files, as they were fetched."""
    return Place(
        folder / "maintie" / "gold_first_968.json",
        folder / "disfl_qa" / "dev.json",
        folder / "nemo_itn",
        folder / "quantulum3" / "quantities.json",
        folder / "nhtsa_complaints" / "complaints_50.tsv",
        folder / "nhtsa_component_taxonomy" / "compdesc_top_names.txt",
    )


@dataclass(frozen=True)
class Figure:
    """One line of the table, and the texts that tell how to better it."""

    name: str
    value: Share | float
    texts: tuple[str, ...] = ()

    def shown(self) -> str:
        """0.123 (1 of 8), or a number."""
        if not isinstance(self.value, Share):
            return f"{self.value:.3f}"
        share = self.value.value
        return "-" if share is None else f"{share:.3f} ({self.value.part} of {self.value.of})"

    def plain(self) -> dict[str, Any]:
        """For the result file."""
        value = self.value
        numbers = {"part": value.part, "of": value.of} if isinstance(value, Share) else {"value": round(value, 4)}
        return {**numbers, "texts": [f"{count} x {text}" for text, count in Counter(self.texts).most_common(SHOWN)]}


def figures(asked: Asked, place: Place) -> Iterator[Figure]:
    """All figures, source by source."""
    yield from maintenance(asked, place)
    yield from slips(asked, place)
    yield from numbers(asked, place)
    yield from road_safety(asked, place)
    yield from other_talk(asked, place)


def maintenance(asked: Asked, place: Place) -> Iterator[Figure]:
    """MaintIE."""
    texts = work_orders(place.maintie)
    for name, scores in (("parts", score_parts(asked, texts)), ("conditions", score_conditions(asked, texts))):
        yield Figure(f"MaintIE, {name}: exact, F1", scores.exact.f1 or 0.0)
        yield Figure(f"MaintIE, {name}: overlapping, precision", scores.precision, scores.extra)
        yield Figure(f"MaintIE, {name}: overlapping, recall", scores.recall, scores.missed)
        yield Figure(f"MaintIE, {name}: overlapping, F1", scores.f1)
        yield Figure(f"MaintIE, {name}: recall where the lexicon has the words", scores.known)
    states = score_states(asked, texts)
    yield Figure("MaintIE, states alone: overlapping, recall", states.recall, states.missed)
    covered = score_coverage(asked, texts)
    yield Figure("MaintIE, distinct objects that the lexicon names whole", covered.whole)
    yield Figure("MaintIE, distinct objects whose last word it names", covered.last_word, covered.unknown)
    calm = score_calm(asked, texts)
    yield Figure("MaintIE, texts without anything wrong: with a fault", calm.faults)
    yield Figure("MaintIE, the same: with a fault and no work asked for", calm.unasked, calm.unasked_texts)


def slips(asked: Asked, place: Place) -> Iterator[Figure]:
    """Disfl-QA."""
    scores = score_repairs(asked, questions(place.disfl_qa))
    for sort, right in sorted(scores.right.items()):
        yield Figure(f"Disfl-QA, {sort} put right: the last word stands", right, scores.missed.get(sort, ()))
    yield Figure("Disfl-QA, questions as written: with something taken back", scores.false, scores.false_texts)


def numbers(asked: Asked, place: Place) -> Iterator[Figure]:
    """NeMo and quantulum3."""
    for kind in ("cardinal", "decimal", "measure", "money"):
        yield Figure(f"NeMo, {kind}: the number", numbers_read(cases(place.nemo, kind)))
    measures = cases(place.nemo, "measure")
    yield Figure("NeMo, measures in narrate's units: value and unit", measures_right(asked, measures))
    mistaken = units_mistaken(asked, measures)
    yield Figure("NeMo, measures in other units: taken for one of narrate's", float(len(mistaken)))
    yield Figure("NeMo, prices in dollars", prices_right(asked, cases(place.nemo, "money")))
    seen = amounts_seen(asked, place.nemo)
    yield Figure("NeMo, dates, times, telephone numbers, …: with a measure", seen.seen, seen.texts)
    amounts = score_amounts(asked, quantities(place.quantulum3))
    yield Figure("quantulum3, quantities in narrate's units: value and unit", amounts.found, amounts.missed)
    yield Figure("quantulum3, amounts given that are not so", amounts.wrong, amounts.wrong_ones)


def road_safety(asked: Asked, place: Place) -> Iterator[Figure]:
    """NHTSA."""
    names = score_names(asked, place.part_names.read_text("utf-8").splitlines())
    yield Figure("NHTSA, names of parts known", names.known, names.unknown)
    filed = score_complaints(asked, complaints(place.complaints))
    yield Figure("NHTSA, complaints: a part of the system is mentioned", filed.mentioned, filed.missed)
    yield Figure("NHTSA, complaints: a finding is about such a part", filed.found)


def other_talk(asked: Asked, place: Place) -> Iterator[Figure]:
    """Text about anything but a vehicle."""
    scored = {
        name: score_talk(asked, texts) for name, texts in talks(place.disfl_qa, place.nemo, place.quantulum3).items()
    }
    for name, scores in scored.items():
        yield Figure(f"{name} ({scores.words} words): faults in 1,000 words", scores.per_thousand("fault"))
    words = sum(scores.words for scores in scored.values())
    for status in ("fault", "ok"):
        false = [one for scores in scored.values() for one in scores.false_of(status)]
        yield Figure(
            f"All {words} words of other talk: {status} in 1,000 words", 1000 * len(false) / words, tuple(false)
        )


def measure(asked: Asked, name: str, place: Place) -> dict[str, Figure]:
    """All figures by name."""
    start = time.perf_counter()
    measured = {figure.name: figure for figure in figures(asked, place)}
    click.echo(f"{name}: {len(measured)} figures in {time.perf_counter() - start:.0f} s", err=True)
    return measured


def columns(sets: dict[str, dict[str, Figure]]) -> Iterable[list[str]]:
    """One row a figure; a set that lacks it has a dash."""
    for name in dict.fromkeys(name for measured in sets.values() for name in measured):
        yield [name, *(measured[name].shown() if name in measured else "-" for measured in sets.values())]


@click.command()
@click.option("--shared", type=click.Path(exists=True, file_okay=False, path_type=Path), help="Whole files.")
def main(shared: Path | None) -> None:
    """Measure, print the table and write the figures."""
    asked = Asked(load_lexicon())
    places = {"copies": COPIES, **({"whole files": whole_files(shared)} if shared else {})}
    sets = {name: measure(asked, name, place) for name, place in places.items()}
    click.echo(table(("check", *sets), list(columns(sets))))
    plain = {name: {one: figure.plain() for one, figure in measured.items()} for name, measured in sets.items()}
    path = write_result("outside", {"lexicon": asked.lexicon.digest, "sets": plain})
    click.echo(f"wrote {path}", err=True)


if __name__ == "__main__":
    main()
