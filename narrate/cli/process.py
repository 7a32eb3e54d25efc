"""`narrate process`: recordings become findings in files."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from narrate.cli.failure import Failure, Stopped
from narrate.cli.options import (
    FOLDER,
    data_option,
    device_option,
    json_option,
    model_option,
    order_option,
    vehicle_options,
)
from narrate.cli.printing import count, print_walkaround, say, say_how_read, show_notices, write_record
from narrate.cli.progress import Bar, progress_bar

if TYPE_CHECKING:
    from narrate.records.order import Order
    from narrate.work.batch import Outcome, Work

    Run = Callable[[Callable[[Work, float, float], None]], Iterator[Outcome]]


@click.command("process", short_help="Recordings become findings, as files.")
@click.argument("places", nargs=-1, required=True, metavar="FILE…|DIR", type=click.Path(exists=True, path_type=Path))
@order_option
@vehicle_options
@click.option("--together", is_flag=True, help="All recordings are of one vehicle: make one list of them.")
@click.option(
    "--to", type=FOLDER, default=Path("findings"), show_default=True, help="Folder for the findings' folders."
)
@model_option
@device_option
@click.option("--again", is_flag=True, help="Do recordings again that are done already.")
@data_option
@json_option
def process_command(
    places: tuple[Path, ...],
    order_file: Path | None,
    market: str | None,
    drive_side: str | None,
    together: bool,
    to: Path,
    model: str | None,
    device: str | None,
    again: bool,
    data: Path | None,
    json_to: str | None,
) -> None:
    """Turn recordings into findings, as files in a folder for each walk-round.

    A folder is searched for audio and video files, and the folders in it too. Each recording is a walk-round
    of its own unless --together is given. What is done already is not done again. A recording that cannot be
    used stops nothing: it is listed at the end.

    With --data each walk-round goes into the shop's store too, where 'narrate review' shows it.
    --json writes one record for one FILE or --together, and else a list of records.
    """
    from narrate.errors import UsageError
    from narrate.pipeline import process_recordings, work_key
    from narrate.words.shop import shop_lexicon
    from narrate.work.batch import plan, run_batch
    from narrate.work.choices import choose
    from narrate.work.places import find_recordings

    settings, order = choose(market=market, drive_side=drive_side, model=model, device=device, order_file=order_file)
    folder = places[0] if len(places) == 1 and places[0].is_dir() else None
    paths = find_recordings(places, apart=to)
    works = plan(paths, together=together, name=folder.resolve().name if folder else None)
    if order and len(works) > 1:
        message = "An order is about one vehicle; give one recording with it, or add --together."
        raise UsageError(message)
    lexicon = shop_lexicon(data)
    run = partial(
        run_batch,
        works,
        to=to,
        process=partial(process_recordings, settings=settings, lexicon=lexicon, order=order),
        key=lambda digests: work_key(digests, settings, lexicon, order),
        again=again,
    )
    keep = _keeper(data, order) if data else None
    telling = _Telling(alone=together or (len(works) == 1 and not folder), json_to=json_to, keep=keep)
    _watch(lambda progress: run(progress=progress), telling)
    telling.end()
    say_how_read()


def _keeper(data: Path, order: "Order | None") -> "Callable[[Outcome], str]":
    """What puts an outcome into the shop's store and returns the id it has there."""
    from narrate.store.engine import open_store
    from narrate.work.into_store import keep_walkaround

    store = open_store(data)

    def keep(outcome: "Outcome") -> str:
        assert outcome.walkaround is not None
        return keep_walkaround(store, outcome.walkaround, outcome.work.paths, order=order)

    return keep


def _watch(run: "Run", telling: "_Telling") -> None:
    """Run under a progress bar and tell each outcome as it comes."""
    try:
        with progress_bar() as bar:
            for outcome in run(_shown_on(bar)):
                with bar.aside():
                    telling.tell(outcome)
    except KeyboardInterrupt as error:
        message = f"Stopped; {count(telling.finished, 'walk-round')} done and kept. Run it again to go on."
        raise Stopped(message) from error


def _shown_on(bar: Bar) -> "Callable[[Work, float, float], None]":
    return lambda work, done_s, total_s: bar.show(work.name, done_s, total_s)


@dataclass
class _Telling:
    """What is printed of the outcomes: all of a single one, a line of each of many."""

    alone: bool
    json_to: str | None
    keep: "Callable[[Outcome], str] | None" = None
    finished: int = 0
    failed: "list[Outcome]" = field(default_factory=list)
    records: list[Path] = field(default_factory=list)

    def tell(self, outcome: "Outcome") -> None:
        """Print one outcome."""
        from narrate.work.batch import RECORD

        if not outcome.walkaround or not outcome.folder:
            self.failed.append(outcome)
            return
        self.finished += 1
        self.records.append(outcome.folder / RECORD)
        show_notices(outcome.walkaround.recordings)
        already = " (already done)" if outcome.state == "already done" else ""
        if self.keep:
            already += f", in the store as {self.keep(outcome)}"
        if self.json_to == "-":
            say(f"{outcome.work.name}: written to {outcome.folder}{already}")
        elif self.alone:
            print_walkaround(outcome.walkaround)
            say(f"Written to {outcome.folder}{already}")
        else:
            found = count(len(outcome.walkaround.findings), "finding")
            left = len(outcome.walkaround.unplaced)
            unclear = f", {left} not understood" if left else ""
            click.echo(f"{outcome.work.name}: {found}{unclear}, in {outcome.folder}{already}")

    def end(self) -> None:
        """Write the JSON, and list what failed."""
        if self.json_to and (self.records or not self.alone):
            # As the files have it: what was done before is read from there in any case.
            texts = [path.read_text("utf-8").strip() for path in self.records]
            write_record(texts[0] if self.alone else "[" + ",\n".join(texts) + "]", self.json_to)
        if not self.failed:
            return
        if self.alone:
            raise Failure(self.failed[0].why)
        lines = (f"  {outcome.work.paths[0]}: {outcome.why}" for outcome in self.failed)
        raise Failure("\n".join((f"{count(len(self.failed), 'recording')} could not be used:", *lines)))
