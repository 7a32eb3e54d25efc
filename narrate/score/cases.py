"""Cases read strictly from TOML: a mistake names the file and the key path."""

import tomllib
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from pydantic import ValidationError

from narrate.errors import RecordError
from narrate.records.case import Case

JUDGE = "judge"
"""The folder whose cases only judge: nobody tunes on them, so their misses are not shown."""


@dataclass(frozen=True)
class CaseFile:
    """A case and where it lies; `tunable` says whether its misses may be looked at."""

    case: Case
    path: Path
    tunable: bool = True


def read_cases(place: Path) -> tuple[CaseFile, ...]:
    """Read one case file, or every `.toml` in a folder and its folders; all mistakes are told at once."""
    paths = sorted(place.rglob("*.toml")) if place.is_dir() else [place]
    if not paths:
        message = f"The folder {place} holds no case; give a folder with .toml files or one such file."
        raise RecordError(message)
    read, problems = [], []
    for path in paths:
        try:
            read.append(read_case(path))
        except RecordError as error:
            problems.append(str(error))
    counts = Counter(file.case.id for file in read)
    problems += [
        f"{file.path}: id: {file.case.id!r} is used by another case; give each its own."
        for file in read
        if counts[file.case.id] > 1
    ]
    if problems:
        raise RecordError("\n".join(problems))
    return tuple(read)


def read_case(path: Path) -> CaseFile:
    """Read one case file."""
    try:
        written = tomllib.loads(path.read_text("utf-8"))
    except OSError as error:
        message = f"{path}: cannot be read ({error.strerror}); give a case file."
        raise RecordError(message) from error
    except ValueError as error:  # not UTF-8, or not TOML
        message = f"{path}: is not TOML: {error}."
        raise RecordError(message) from error
    try:
        case = Case.model_validate(written)
    except ValidationError as error:
        problems = (f"{path}: {_key(problem['loc'])}: {problem['msg']}." for problem in error.errors())
        raise RecordError("\n".join(problems)) from error
    return CaseFile(case, path, tunable=JUDGE not in path.resolve().parent.parts)


def _key(parts: tuple[int | str, ...]) -> str:
    """`finding[2].component`."""
    return "".join(f"[{part}]" if isinstance(part, int) else f".{part}" for part in parts).lstrip(".")
