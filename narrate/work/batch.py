"""Many recordings in, a folder of findings for each walkaround; what is done already is not done again."""

import logging
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal, Protocol

from narrate.errors import AudioError, ModelError, NarrateError, RecordError
from narrate.export.files import export_walkaround
from narrate.export.json_file import read_walkaround
from narrate.hear.digests import sha256_of
from narrate.records.walkaround import Walkaround
from narrate.work.finished import place_folder, tidy_up
from narrate.work.lengths import Meter, stated_length_s

RECORD = "findings.json"
KEY = "work_key"
"""The field of the record that tells what it was made of, so that the same need not be made again."""
_log = logging.getLogger(__name__)


class Process(Protocol):
    """Makes a walkaround of recordings; reports seconds done and seconds in all of each."""

    def __call__(
        self, paths: Sequence[Path], *, progress: Callable[[float, float], None] | None = None
    ) -> Walkaround: ...


@dataclass(frozen=True, kw_only=True)
class Work:
    """One walkaround to make: its recordings, and the name of its folder where that is free."""

    name: str
    paths: tuple[Path, ...]


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """What became of one piece of work; `why` tells of a failure, `folder` and `walkaround` of the rest."""

    work: Work
    state: Literal["done", "already done", "failed"]
    folder: Path | None = None
    walkaround: Walkaround | None = None
    why: str = ""


def plan(paths: Sequence[Path], *, together: bool = False, name: str | None = None) -> tuple[Work, ...]:
    """Each recording its own walkaround, or all of them one, called `name` or after the first."""
    if together:
        return (Work(name=name or paths[0].stem, paths=tuple(paths)),)
    return tuple(Work(name=path.stem, paths=(path,)) for path in paths)


def run_batch(
    works: Sequence[Work],
    *,
    to: Path,
    process: Process,
    key: Callable[[Sequence[str]], str],
    again: bool = False,
    progress: Callable[[Work, float, float], None] | None = None,
) -> Iterator[Outcome]:
    """Do one piece of work after the other and yield what became of it; a bad recording stops nothing.

    key: from the digests of the recordings to a text that is the same for the same work.
    again: do what is done already too. progress: called with the work in hand, seconds done and seconds in
    all. Raises ModelError, for without a model nothing can be done.
    """
    tidy_up(to)
    lengths_s = [sum(map(stated_length_s, work.paths)) if progress else 0.0 for work in works]
    meter = Meter(sum(lengths_s))
    for work, length_s in zip(works, lengths_s, strict=True):
        step = _stepper(work, meter, progress)
        step(0.0, length_s)
        outcome = _do(work, to, process, key, again, step)
        if outcome.state == "already done":
            meter.skip(length_s)
        else:
            meter.finish(length_s)
        yield outcome


def _stepper(
    work: Work, meter: Meter, progress: Callable[[Work, float, float], None] | None
) -> Callable[[float, float], None]:
    def step(done_s: float, length_s: float) -> None:
        meter.step(done_s, length_s)
        if progress:
            progress(work, *meter.figures())

    return step


def _do(
    work: Work,
    to: Path,
    process: Process,
    key: Callable[[Sequence[str]], str],
    again: bool,
    step: Callable[[float, float], None],
) -> Outcome:
    try:
        digests = [_digest(path) for path in work.paths]
        folder, former = _folder(work, to, digests)
        made_of = key(digests)
        if former and not again and (former.model_extra or {}).get(KEY) == made_of:
            return Outcome(work=work, state="already done", folder=folder, walkaround=former)
        walkaround = process(work.paths, progress=step).model_copy(update={KEY: made_of})
        place_folder(folder, lambda part: export_walkaround(walkaround, part))
    except ModelError:
        raise
    except NarrateError as error:
        return Outcome(work=work, state="failed", why=str(error))
    except OSError as error:
        why = f"Its findings cannot be written to {to} ({error.strerror}); check the folder and its room."
        return Outcome(work=work, state="failed", why=why)
    except Exception as error:
        # A fault of narrate's own on one recording must not cost the rest of the day's.
        _log.exception("A fault of narrate itself, on %s:", work.name)
        why = f"narrate itself failed on it ({type(error).__name__}: {error}); please report this."
        return Outcome(work=work, state="failed", why=why)
    return Outcome(work=work, state="done", folder=folder, walkaround=walkaround)


def _digest(path: Path) -> str:
    try:
        return sha256_of(path)
    except OSError as error:
        message = f"{path} cannot be read ({error.strerror}); check the name and its permissions."
        raise AudioError(message) from error


def _folder(work: Work, to: Path, digests: Sequence[str]) -> tuple[Path, Walkaround | None]:
    """Return where the findings go, with those of the very same recordings if they lie there already.

    A folder that holds anything else is left alone: digits of the digest tell the new one apart.
    """
    for name in (work.name, f"{work.name}-{digests[0][:8]}"):
        folder = to / name
        if not folder.exists():
            return folder, None
        former = _former(folder)
        if former and [recording.sha256 for recording in former.recordings] == list(digests):
            return folder, former
    message = f"{folder} holds something else already; choose another folder with --to."
    raise NarrateError(message)


def _former(folder: Path) -> Walkaround | None:
    try:
        return read_walkaround(folder / RECORD)
    except RecordError:
        return None
