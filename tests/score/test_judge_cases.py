"""The judge cases are as their authors left them."""

import hashlib
from collections.abc import Iterable
from pathlib import Path

from narrate.score.cases import read_cases

JUDGE = Path(__file__).parents[1] / "cases" / "judge"
FROZEN = "09c8f6860cd560425823c966293f56664e297ec81674638ec704b5ff90d2c94a"
"""sha256 of all files one after the other, in the order of their paths below the folder."""
FIRST_FROZEN = "5cf58d8586add557344df4199442edaf98945116fcfd2b06c8ba9ffbbf6b3e9c"
"""The same of the first twenty narrations, which are older."""


def digest(paths: Iterable[Path]) -> str:
    ordered = sorted(paths, key=lambda path: path.relative_to(JUDGE).as_posix())
    return hashlib.sha256(b"".join(path.read_bytes() for path in ordered)).hexdigest()


def test_nobody_has_touched_the_judge_cases() -> None:
    """A case that is loosened judges nothing."""
    assert FROZEN == digest(path for path in JUDGE.rglob("*") if path.is_file())


def test_nobody_has_touched_the_first_judge_cases() -> None:
    """The twenty narrations that older figures were measured on are still the same."""
    first = sorted((JUDGE / "first").glob("*.toml"))
    assert 20 == len(first)
    assert FIRST_FROZEN == digest(first)


def test_all_judge_cases_are_read_and_none_is_shown() -> None:
    """Forty narrations and ten files of short cases are read strictly, and none may be tuned on."""
    files = read_cases(JUDGE)
    short = [file for file in files if file.path.parent.name == "short"]
    assert (40, 130, 10) == (len(files) - len(short), len(short), len({file.path for file in short}))
    assert not [file.path for file in files if file.tunable]
