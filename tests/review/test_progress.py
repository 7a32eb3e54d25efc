"""Progress: told at once, then at each change and not otherwise, until the page has gone."""

import asyncio
from collections.abc import Sequence

import pytest

from narrate.review import progress
from narrate.review.progress import changes


def followed(states: Sequence[str]) -> list[str]:
    """What is said while the store says these things one after the other."""
    left = list(states)

    async def gone() -> bool:
        return not left

    async def follow() -> list[str]:
        return [event async for event in changes(lambda: left.pop(0), gone, every_s=0)]

    return asyncio.run(follow())


def test_each_change_is_told_once() -> None:
    assert followed(["a", "a", "b", "b", "b", "a"]) == ["data: a\n\n", "data: b\n\n", "data: a\n\n"]


def test_a_page_that_has_gone_is_told_nothing() -> None:
    assert followed([]) == []


def test_a_quiet_line_is_kept_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(progress, "BREATHE_EVERY", 3)
    said = followed(["a"] * 8)
    assert said == ["data: a\n\n", ": still here\n\n", ": still here\n\n"]
