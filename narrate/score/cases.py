"""Cases read strictly from TOML: a mistake names the file and the key path."""

import tomllib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from narrate.errors import RecordError
from narrate.records.case import Case, CaseList
from narrate.score.details import used_keys

JUDGE = "judge"
"""The folder whose cases, in folders below it too, only judge: nobody tunes on them, so their misses are not shown."""


@dataclass(frozen=True)
class CaseFile:
    """A case and where it lies; `tunable` says whether its misses may be looked at."""

    case: Case
    path: Path
    tunable: bool = True
    keys: frozenset[str] | None = None
    """Every key that its file uses, in this case or another; None: those of the case."""


def read_cases(place: Path) -> tuple[CaseFile, ...]:
    """Read one file of cases, or every `.toml` in a folder and its folders; all mistakes are told at once."""
    paths = sorted(place.rglob("*.toml")) if place.is_dir() else [place]
    if not paths:
        message = f"The folder {place} holds no case; give a folder with .toml files or one such file."
        raise RecordError(message)
    read: list[CaseFile] = []
    problems: list[str] = []
    for path in paths:
        try:
            read += read_case_file(path)
        except RecordError as error:
            problems.append(str(error))
    counts = Counter(file.case.id for file in read)
    # In the order of reading, each file once for each id it shares.
    twice = dict.fromkeys((file.path, file.case.id) for file in read if counts[file.case.id] > 1)
    problems += [f"{path}: id: {used!r} is used by another case; give each its own." for path, used in twice]
    if problems:
        raise RecordError("\n".join(problems))
    return tuple(read)


def read_case_file(path: Path) -> tuple[CaseFile, ...]:
    """Read a file that is one case, or a list of them under `[[case]]`."""
    try:
        written = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        message = f"{path}: cannot be read ({error.strerror}); give a case file."
        raise RecordError(message) from error
    except ValueError as error:  # not UTF-8, or not TOML
        message = f"{path}: is not TOML: {error}."
        raise RecordError(message) from error
    try:
        cases = CaseList.model_validate(written).case if "case" in written else (Case.model_validate(written),)
    except ValidationError as error:
        problems = (f"{path}: {_key(problem['loc'])}: {problem['msg']}." for problem in error.errors())
        raise RecordError("\n".join(problems)) from error
    tunable, keys = JUDGE not in path.resolve().parent.parts, used_keys(cases)
    return tuple(CaseFile(case, path, tunable, keys) for case in cases)


def _key(parts: tuple[int | str, ...]) -> str:
    """`finding[2].component`."""
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in parts).lstrip(".")
