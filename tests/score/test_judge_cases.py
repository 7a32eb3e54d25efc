"""The judge cases are as their author left them."""

import hashlib
from pathlib import Path

JUDGE = Path(__file__).parents[1] / "cases" / "judge"
FROZEN = "5cf58d8586add557344df4199442edaf98945116fcfd2b06c8ba9ffbbf6b3e9c"
"""sha256 of the files one after the other, in the order of their names."""


def test_nobody_has_touched_the_judge_cases() -> None:
    """A case that is loosened judges nothing."""
    files = sorted(JUDGE.glob("*.toml"))
    assert 20 == len(files)
    assert FROZEN == hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()
