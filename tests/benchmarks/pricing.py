"""How many findings of the judge's cases a price book prices rightly, wrongly, or leaves to be priced; totals only.

    python tests/benchmarks/pricing.py

Book and right answers are tests/data/price_book, by a hand that has not seen the matching; its README tells what each
key of the answers means. Matching is measured twice: apart from finding, on the case's own findings as a walkaround,
and on what narrate finds. A finding is priced rightly where the jobs it is in are of just the operations owed, hold one
of the parts owed, and as many pieces of it.
"""

import tomllib
from collections import Counter
from decimal import Decimal
from typing import Literal, get_args

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
BOOK = CHECKOUT / "tests" / "data" / "price_book"
Kind = Literal["right", "other quantity", "wrong", "to be priced", "not found", "rightly no job", "priced without need"]
KINDS: tuple[Kind, ...] = get_args(Kind)


class Owed(Written):
    """What a finding should be priced by."""

    case: str
    finding: int = Field(ge=1)
    operations: tuple[str | tuple[str, ...], ...] = ()
    parts: tuple[str, ...] = ()
    quantity: Decimal | None = None
    part_quantity: Decimal | None = None
    to_be_priced: bool = False
    no_job: bool = False

    @property
    def groups(self) -> tuple[frozenset[str], ...]:
        """One operation of each is owed."""
        lists = [each for each in self.operations if not isinstance(each, str)]
        alone = [each for each in self.operations if isinstance(each, str)]
        return tuple(frozenset(each) for each in ([alone] if alone else []) + lists)

    @property
    def pieces(self) -> Decimal | None:
        """How many pieces of the part are owed."""
        return self.part_quantity or self.quantity


class OwedFile(Written):
    """expected.toml"""

    schema_: Literal["narrate.price_answers/1"] = Field(alias="schema")
    row: tuple[Owed, ...]


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


def verdict(owed: Owed, finding: str | None, estimate: Estimate) -> Kind:
    """What became of one finding."""
    if finding is None:
        return "not found"
    jobs = [job for job in estimate.jobs if finding in job.finding_ids]
    if not owed.groups:
        return "priced without need" if jobs else "rightly no job"
    if not jobs:
        return "to be priced"
    done = {job.operation for job in jobs}
    if not all(done & group for group in owed.groups) or not done <= frozenset().union(*owed.groups):
        return "wrong"
    lines = [line for job in jobs for choice in job.choices for line in choice.lines if line.row in owed.parts]
    if owed.parts and not lines:
        return "wrong"
    counted = not owed.parts or owed.pieces in {line.quantity for line in lines}
    return "right" if counted else "other quantity"


def measured(expected: OwedFile, book: Book, lexicon: Lexicon) -> dict[str, Counter[Kind]]:
    """The counts, on the case's own findings and on what is found."""
    by_case: dict[str, list[Owed]] = {}
    for each in expected.row:
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
        raise SystemExit(message)
    return counts


def main() -> None:
    """Count what is priced rightly and wrongly, and what is to be priced."""
    lexicon = load_lexicon()
    expected = OwedFile.model_validate(tomllib.loads((BOOK / "expected.toml").read_text("utf-8")))
    book = read_book(BOOK / "book.csv", lexicon)
    counts = measured(expected, book, lexicon)
    rows = [[name, *(count[kind] for kind in KINDS), *shares(count)] for name, count in counts.items()]
    print(table(["findings", *KINDS, "right of what the book has", "right of all"], rows))
    result = {
        name: {**count, "right_of_what_the_book_has": shares(count)[0], "right_of_all": shares(count)[1]}
        for name, count in counts.items()
    }
    print(f"wrote {write_result('pricing', {'asked': len(expected.row), **result})}")


def shares(count: Counter[Kind]) -> tuple[float, float]:
    """Priced rightly of the findings that the book has work for; and of all, with those rightly left alone."""
    asked = sum(count[kind] for kind in ("right", "other quantity", "wrong", "to be priced", "not found"))
    every = sum(count.values())
    good = count["right"] + count["rightly no job"]
    return round(count["right"] / asked, 3) if asked else 0.0, round(good / every, 3) if every else 0.0


if __name__ == "__main__":
    main()
