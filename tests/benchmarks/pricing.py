"""How many findings of the judge's cases a price book prices rightly, wrongly, or leaves to be priced; totals only.

    python tests/benchmarks/pricing.py skeleton > expected.toml
    python tests/benchmarks/pricing.py measure BOOK.csv expected.toml

The book and expected.toml are by a hand that has not seen the matching. `skeleton` prints every finding of
tests/cases/judge that owes an action, for that hand to fill in:

    schema = "narrate.pricing/1"
    [[priced]]
    case = "awd_wagon"
    finding = 1               # its number in the case, from 1
    operations = ["key"]      # of the book; [] where it has none, so that it stands to be priced
    parts = ["key", "key"]    # each must be a part of some choice; left out or []: none is asked for

Matching is measured twice: apart from finding, on the case's own findings as a walkaround, and on what narrate finds.
A finding is priced rightly where the jobs it is in are of just these operations and hold these parts.
"""

import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Literal

import click
from pydantic import Field
from tables import CHECKOUT, table, write_result

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.price.book_file import read_book
from narrate.price.estimating import make_estimate
from narrate.records.base import Written
from narrate.records.case import Case, Expected
from narrate.records.estimate import Estimate
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
from narrate.score.cases import read_cases
from narrate.score.names import name_key
from narrate.score.pairing import pair_findings
from narrate.score.place import names_of
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.words.phrases import plural

CASES = CHECKOUT / "tests" / "cases" / "judge"
SURE = Confidence(overall=1, component=1, location=1, condition=1, recommendation=1)
Kind = Literal["right", "right to be priced", "wrong", "to be priced", "priced without need", "not found"]
KINDS: tuple[Kind, ...] = ("right", "right to be priced", "wrong", "to be priced", "priced without need", "not found")


class Priced(Written):
    """What a finding should be priced by."""

    case: str
    finding: int = Field(ge=1)
    operations: tuple[str, ...]
    parts: tuple[str, ...] = ()


class PricedFile(Written):
    """expected.toml"""

    schema_: Literal["narrate.pricing/1"] = Field(alias="schema")
    priced: tuple[Priced, ...]


def owed(case: Case) -> Iterator[tuple[int, Expected]]:
    """Findings of a case that owe an action, with their numbers."""
    for number, each in enumerate(case.finding, 1):
        if each.actions and not each.optional and each.status in (None, "fault", "work"):
            yield number, each


class Meanings:
    """From the names of a case to ids of the lexicon: the first accepted name that it knows."""

    def __init__(self, lexicon: Lexicon) -> None:
        self.lexicon = lexicon
        entries = [(id_, entry.names) for id_, entry in lexicon.components.items()]
        # A name proper goes before an alias of another part.
        self._components = {name_key(name): id_ for id_, names in reversed(entries) for name in names}
        self._components |= {name_key(names[0]): id_ for id_, names in reversed(entries)}
        actions = [(id_, (entry.name, *entry.aliases)) for id_, entry in lexicon.actions.items()]
        self._actions = {name_key(name): id_ for id_, names in reversed(actions) for name in names}
        self._actions |= {name_key(names[0]): id_ for id_, names in reversed(actions)}

    def component(self, expected: Expected) -> str | None:
        """The component's id, or None where no name is known."""
        return next((self._components[k] for n in expected.component if (k := name_key(n)) in self._components), None)

    def action(self, expected: Expected) -> str | None:
        """The action's id, or None where no name is known."""
        accepted = expected.actions or ()
        return next((self._actions[key] for name in accepted if (key := name_key(name)) in self._actions), None)


def as_finding(number: int, expected: Expected, case: Case, meanings: Meanings) -> Finding | None:
    """An expected finding as narrate would have it; None where the lexicon has no word for it."""
    component, action = meanings.component(expected), meanings.action(expected)
    if component is None or action is None:
        return None
    entry = meanings.lexicon.components[component]
    told = " ".join(case.said.lower().split())
    said = next((name for name in entry.names if plural(name) in told), None)
    return Finding(
        id=f"f{number}",
        component=Component(
            id=component,
            name=entry.name,
            system=meanings.lexicon.system_of[component],
            heard=plural(said) if said else entry.name,
        ),
        locations=expected.locations[0] if expected.locations else (),
        status=expected.status or "fault",
        recommendation=Recommendation(action=action, timing="done" if "done" in expected.timing else None),
        part_options=expected.part_options,
        evidence=(Evidence(recording="r1", first_word=0, last_word=0, said=""),),
        confidence=SURE,
    )


def as_walkaround(case: Case, meanings: Meanings) -> Walkaround:
    """A case's own findings, as if all had been found."""
    findings = (as_finding(number, each, case, meanings) for number, each in enumerate(case.finding, 1))
    vehicle = Vehicle(year=case.vehicle.year, make=case.vehicle.make, model=case.vehicle.model)
    made = MadeBy(program="narrate", lexicon=meanings.lexicon.digest, settings="")
    known = tuple(each for each in findings if each)
    return Walkaround(made_by=made, market=case.market, vehicle=vehicle, findings=known)


def verdict(priced: Priced, finding: str | None, estimate: Estimate) -> Kind:
    """What became of one finding."""
    if finding is None:
        return "not found"
    jobs = [job for job in estimate.jobs if finding in job.finding_ids]
    if not jobs:
        return "to be priced" if priced.operations else "right to be priced"
    if not priced.operations:
        return "priced without need"
    rows = {line.row for job in jobs for choice in job.choices for line in choice.lines if line.kind == "part"}
    same = {job.operation for job in jobs} == set(priced.operations)
    return "right" if same and set(priced.parts) <= rows else "wrong"


def measured(expected: PricedFile, book: Book, lexicon: Lexicon) -> dict[str, Counter[Kind]]:
    """The counts, on the case's own findings and on what is found."""
    by_case: dict[str, list[Priced]] = {}
    for each in expected.priced:
        by_case.setdefault(each.case, []).append(each)
    meanings, names = Meanings(lexicon), names_of(lexicon)
    counts: dict[str, Counter[Kind]] = {"own": Counter(), "found": Counter()}
    for file in read_cases(CASES):
        case = file.case
        asked = by_case.pop(case.id, [])
        if not asked:
            continue
        own = as_walkaround(case, meanings)
        estimate = make_estimate(own, book, lexicon, made_at="")
        known = {finding.id for finding in own.findings}
        counts["own"].update(verdict(p, i if (i := f"f{p.finding}") in known else None, estimate) for p in asked)
        settings = Settings().model_copy(update={"market": case.market, "drive_side": case.drive_side})
        walk = process_words([text_recording(case.said, case.id)], settings=settings, lexicon=lexicon)
        pairs = {
            id(wanted): found.id for wanted, found in pair_findings(case.finding, walk.findings, names=names).pairs
        }
        estimate = make_estimate(walk, book, lexicon, made_at="")
        counts["found"].update(verdict(p, pairs.get(id(case.finding[p.finding - 1])), estimate) for p in asked)
    if by_case:
        message = f"No case is called {', '.join(sorted(by_case))}."
        raise click.ClickException(message)
    return counts


@click.group()
def main() -> None:
    """Measure matching against a price book."""


@main.command()
def skeleton() -> None:
    """Print every finding that owes an action, to be filled in."""
    meanings = Meanings(load_lexicon())
    click.echo('schema = "narrate.pricing/1"')
    for file in read_cases(CASES):
        for number, each in owed(file.case):
            what = meanings.component(each) or f"? {each.component[0]}"
            action = meanings.action(each) or f"? {(each.actions or ('',))[0]}"
            places = ", ".join(each.locations[0]) if each.locations else ""
            click.echo(f"\n# {what} | {action} | {places} | {', '.join(each.part_options)}")
            click.echo(f'[[priced]]\ncase = "{file.case.id}"\nfinding = {number}\noperations = ["?"]\nparts = []')


@main.command()
@click.argument("book", type=click.Path(exists=True, path_type=Path))
@click.argument("expected", type=click.Path(exists=True, path_type=Path))
def measure(book: Path, expected: Path) -> None:
    """Count what is priced rightly and wrongly, and what is to be priced."""
    lexicon = load_lexicon()
    try:
        told = PricedFile.model_validate(tomllib.loads(expected.read_text("utf-8")))
    except ValueError as error:
        message = f"{expected} is not as the first lines of this file say: {error}"
        raise click.ClickException(message) from error
    read = read_book(book, lexicon)
    keys = {row.key for row in (*read.operations, *read.parts)}
    unknown = sorted({key for each in told.priced for key in (*each.operations, *each.parts)} - keys)
    if unknown:
        message = f"The book has no row {', '.join(unknown)}; name rows of the book, or none."
        raise click.ClickException(message)
    counts = measured(told, read, lexicon)
    rows = [[name, *(count[kind] for kind in KINDS), *_shares(count)] for name, count in counts.items()]
    click.echo(table(["findings", *KINDS, "of what the book has", "of all"], rows))
    result = {
        name: {**count, "right_of_what_the_book_has": _shares(count)[0], "right_of_all": _shares(count)[1]}
        for name, count in counts.items()
    }
    click.echo(f"wrote {write_result('pricing', {'asked': len(told.priced), **result})}", err=True)


def _shares(count: Counter[Kind]) -> tuple[float, float]:
    """Priced rightly of the findings that the book has work for; and of all, with those rightly left to be priced."""
    asked = sum(count[kind] for kind in ("right", "wrong", "to be priced", "not found"))
    every = sum(count.values())
    good = count["right"] + count["right to be priced"]
    return round(count["right"] / asked, 3) if asked else 0.0, round(good / every, 3) if every else 0.0


if __name__ == "__main__":
    main()
