"""Count the keys and clicks that a list needs on the review page: from what was found, and from an empty list.

    python tests/benchmarks/review_effort.py [--cases FOLDER …] [--heard FOLDER …] [--only ID …]

Each case is reviewed twice in a real browser against a real `narrate review`, until the list is what the case
expects and is signed: once beginning with the findings of narrate, once beginning with nothing, every finding
added by hand with the fewest keys that the page knows. Every key (a letter, a chord) and every click is one action.
Who reviews knows the expected list, and does what a careful advisor does: confirms the sure ones together and puts
right afterwards what was wrong among them, makes another part of a finding only where its words or what it says
tell so, drops what nobody expected, and decides what is open. Listening is counted apart: in the first run once for
every finding not confirmed with the sure ones or corrected, in the second once for every finding.
Writes results/review_effort.json.
"""

import tempfile
import time
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import click
import numpy as np
from effort_page import Hands, browser_page, served, shortest_units
from effort_plan import Planner
from effort_review import add_all, review
from playwright.sync_api import Page
from tables import CHECKOUT, table, write_result

from narrate.find.mining import text_recording
from narrate.hear.suffixes import SUFFIXES
from narrate.pipeline import process_recordings, process_words
from narrate.records.case import Case
from narrate.records.walkaround import Walkaround
from narrate.score.cases import JUDGE, CaseFile, read_cases
from narrate.score.measure import measure_case
from narrate.score.place import names_of
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.store.walkarounds import add_walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

FOLDERS = tuple(CHECKOUT / "tests" / "cases" / JUDGE / name for name in ("first", "second"))
KINDS = ("confirm", "correct", "drop", "add", "decide", "move", "sign")
WHO = "benchmark"
RESAMPLES = 2000


@dataclass
class Effort:
    """What one review took."""

    actions: Counter[str]
    clicks: int
    listens: int
    fields: Counter[str]
    """The same as `actions`, corrections by field."""
    reached: bool
    """Whether the list was right in the end: every whole finding and every amount, and signed."""

    @property
    def total(self) -> int:
        """Keys and clicks."""
        return self.actions.total()


@dataclass
class Both:
    """One case reviewed both ways."""

    case: Case
    tunable: bool
    found: Effort
    typed: Effort
    sure: int
    sure_wrong: int
    unreachable: int
    """Expected findings whose part the lexicon does not have."""


@dataclass
class Bench:
    """What every review needs."""

    page: Page
    store: Store
    address: str
    lexicon: Lexicon
    units: dict[str, str]
    heard: dict[str, Path]
    planners: dict[str, Planner] = field(default_factory=dict)

    def planner(self, case: Case) -> Planner:
        """The planner of a case's market, with what it worked out before."""
        if case.market not in self.planners:
            self.planners[case.market] = Planner(self.lexicon, names_of(self.lexicon), case.market, self.units)
        planner = self.planners[case.market]
        return replace(planner, must_not=case.must_not) if case.must_not else planner

    def found(self, case: Case) -> Walkaround:
        """What narrate finds in a case, by its recording where one was given."""
        settings = Settings(market=case.market, drive_side=case.drive_side)
        if case.id in self.heard:
            return process_recordings([self.heard[case.id]], settings=settings, lexicon=self.lexicon)
        return process_words([text_recording(case.said, case.id)], settings=settings, lexicon=self.lexicon)

    def hands(self, walkaround: Walkaround) -> Hands:
        """Someone at the page of a walk-round that was just added."""
        return Hands(self.page, self.store, self.address, add_walkaround(self.store, walkaround, who=WHO))


def both(bench: Bench, file: CaseFile) -> Both:
    """Review a case both ways."""
    case, planner = file.case, bench.planner(file.case)
    found = bench.found(case)
    hands = bench.hands(found)
    done = review(hands, case, planner)
    first = effort(hands, case, planner, done.listened)
    empty = found.model_copy(
        update=dict.fromkeys(
            ("findings", "concerns", "unplaced", "suggestions", "contradictions", "review_order", "comparisons"), ()
        )
    )
    # Who types the list has the recording, and not its words.
    silent = tuple(each.model_copy(update={"words": ()}) for each in found.recordings)
    hands = bench.hands(empty.model_copy(update={"recordings": silent}))
    added = add_all(hands, case, planner)
    second = effort(hands, case, planner, added)
    unreachable = sum(planner.adding(each) is None for each in case.finding if not each.optional)
    return Both(case, file.tunable, first, second, done.sure, done.sure_wrong, unreachable)


def effort(hands: Hands, case: Case, planner: Planner, listens: int) -> Effort:
    """What was counted, and whether the list is right now by the project's own score."""
    now = hands.walkaround
    score = measure_case(case, now, names=planner.names)
    whole, amount = score.counts["whole"], score.counts["amount"]
    right = whole.right == whole.given == whole.owed and amount.right == amount.owed
    reached = right and not score.forbidden and now.signed is not None
    return Effort(hands.actions, hands.clicks, listens, hands.fields, reached)


def totals(done: Sequence[Both]) -> dict[str, Any]:
    """The figures of all cases together."""
    first = np.array([each.found.total for each in done])
    second = np.array([each.typed.total for each in done])
    drawn = np.random.default_rng(0).integers(len(done), size=(RESAMPLES, len(done)))
    ratios = first[drawn].sum(axis=1) / second[drawn].sum(axis=1)
    listens = sum(e.found.listens for e in done), sum(e.typed.listens for e in done)
    return {
        "cases": len(done),
        "findings": sum(not e.optional for each in done for e in each.case.finding),
        "ratio": round(float(first.sum() / second.sum()), 3),
        "ratio_interval": [round(float(each), 3) for each in np.quantile(ratios, (0.025, 0.975))],
        "ratio_with_listening": round(float((first.sum() + listens[0]) / (second.sum() + listens[1])), 3),
        "found": side(each.found for each in done),
        "typed": side(each.typed for each in done),
        "sure": sum(each.sure for each in done),
        "sure_wrong": sum(each.sure_wrong for each in done),
        "part_not_in_the_lexicon": sum(each.unreachable for each in done),
    }


def side(efforts: Iterable[Effort]) -> dict[str, Any]:
    """One way of reviewing, all cases together."""
    efforts = list(efforts)
    by_kind = sum((each.actions for each in efforts), Counter())
    return {
        "actions": by_kind.total(),
        "clicks": sum(each.clicks for each in efforts),
        "listens": sum(each.listens for each in efforts),
        "by_kind": {kind: by_kind[kind] for kind in (*KINDS, *sorted(set(by_kind) - set(KINDS))) if by_kind[kind]},
        "not_reached": sum(not each.reached for each in efforts),
    }


def printed(values: dict[str, Any]) -> str:
    """A short table of the totals."""
    kinds = [kind for kind in KINDS if any(kind in values[way]["by_kind"] for way in ("found", "typed"))]
    names = {"found": "from what was found", "typed": "from an empty list"}
    rows = [
        [name, *(values[way][key] for key in ("actions", "clicks", "listens")),
         *(values[way]["by_kind"].get(kind, 0) for kind in kinds), values[way]["not_reached"]]
        for way, name in names.items()
    ]  # fmt: skip
    low, high = values["ratio_interval"]
    told = f"{values['cases']} cases, {values['findings']} findings: ratio {values['ratio']} ({low} to {high})"
    return f"{told}\n{table(('', 'actions', 'clicks', 'listens', *kinds, 'not reached'), rows)}"


@click.command()
@click.option("--cases", "folders", multiple=True, type=click.Path(exists=True, path_type=Path))
@click.option("--heard", "recordings", multiple=True, type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option("--only", multiple=True, help="Ids of cases.")
def main(folders: tuple[Path, ...], recordings: tuple[Path, ...], only: tuple[str, ...]) -> None:
    """Review every case both ways and write the totals."""
    files = [file for folder in folders or FOLDERS for file in read_cases(folder)]
    files = [file for file in files if not only or file.case.id in only]
    heard = {p.stem: p for folder in recordings for p in sorted(folder.iterdir()) if p.suffix.lower() in SUFFIXES}
    if heard:
        files = [file for file in files if file.case.id in heard]
    done: list[Both] = []
    with tempfile.TemporaryDirectory() as place, browser_page() as page:
        store = open_store(Path(place) / "data")
        with served(store.folder) as address:
            bench = Bench(page, store, address, load_lexicon(), shortest_units(page, address), heard)
            for number, file in enumerate(files, 1):
                start = time.perf_counter()
                one = both(bench, file)
                done.append(one)
                told = f" {file.case.id}, {one.found}, {one.typed}" if file.tunable else ""
                click.echo(f"{number} of {len(files)}:{told} in {time.perf_counter() - start:.0f} s", err=True)
        store.close()
    values = totals(done)
    click.echo(printed(values))
    if not folders and not only:
        name = "review_effort_heard" if heard else "review_effort"
        click.echo(f"wrote {write_result(name, values)}", err=True)


if __name__ == "__main__":
    main()
