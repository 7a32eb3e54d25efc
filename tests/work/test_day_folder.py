"""A day's folder: a file is taken when it has stopped growing, and a folder may go away."""

import os
from pathlib import Path

import pytest

from narrate.work.day_folder import OLD_S, STEADY_S, Watch

NOW = 1_790_000_000.0


class Clock:
    """A clock that is set by hand."""

    def __init__(self) -> None:
        self.now = 1000.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def watch(tmp_path: Path, clock: Clock) -> Watch:
    (tmp_path / "day").mkdir()
    return Watch(tmp_path / "day", clock=clock, wall=lambda: NOW)


def write(path: Path, content: bytes, age_s: float = 0.0) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    os.utime(path, (NOW - age_s, NOW - age_s))


def names(watch: Watch) -> tuple[list[str], list[str]]:
    steady, growing = watch.look()
    return [str(each.name) for each in steady], [str(each.name) for each in growing]


def test_a_file_is_taken_when_it_has_stopped_growing(watch: Watch, clock: Clock) -> None:
    file = watch.folder / "bay 2.m4a"
    write(file, b"ab", age_s=1)
    assert names(watch) == ([], ["bay 2.m4a"])
    for size in range(3, 8):
        clock.now += STEADY_S - 0.1
        write(file, b"a" * size)
        assert names(watch) == ([], ["bay 2.m4a"])
    clock.now += STEADY_S - 0.1
    assert names(watch) == ([], ["bay 2.m4a"])
    clock.now += 0.1
    assert names(watch) == (["bay 2.m4a"], [])


def test_a_file_written_again_with_as_many_bytes_has_changed(watch: Watch, clock: Clock) -> None:
    file = watch.folder / "bay.wav"
    write(file, b"0000", age_s=2)
    names(watch)
    clock.now += STEADY_S - 1
    write(file, b"0011", age_s=1)
    names(watch)
    clock.now += 1.5
    assert names(watch) == ([], ["bay.wav"])


def test_an_old_file_is_taken_at_once_and_what_came_first_comes_first(watch: Watch) -> None:
    write(watch.folder / "z.ogg", b"a", age_s=OLD_S + 500)
    write(watch.folder / "kev" / "a.ogg", b"b", age_s=OLD_S + 300)
    write(watch.folder / "b.ogg", b"c", age_s=OLD_S + 400)
    assert names(watch) == (["z.ogg", "b.ogg", "kev/a.ogg"], [])


def test_a_clock_of_the_share_that_is_ahead_only_means_waiting(watch: Watch, clock: Clock) -> None:
    write(watch.folder / "a.ogg", b"a", age_s=-9000)
    assert names(watch) == ([], ["a.ogg"])
    clock.now += STEADY_S
    assert names(watch) == (["a.ogg"], [])


def test_an_empty_file_is_given_time(watch: Watch, clock: Clock) -> None:
    write(watch.folder / "a.ogg", b"")
    names(watch)
    clock.now += STEADY_S
    assert names(watch) == ([], ["a.ogg"])
    clock.now += OLD_S
    assert names(watch) == (["a.ogg"], [])


def test_other_files_and_the_shops_own_are_left_alone(watch: Watch) -> None:
    for name in (".hidden.ogg", "notes.txt", ".trash/a.ogg", "data/audio/ab/ab.ogg"):
        write(watch.folder / name, b"a", age_s=OLD_S + 1)
    watch.apart = watch.folder / "data"
    assert names(watch) == ([], [])


def test_a_folder_that_goes_away_and_comes_back(watch: Watch) -> None:
    away = watch.folder.with_name("away")
    write(watch.folder / "a.ogg", b"a", age_s=OLD_S + 1)
    watch.folder.rename(away)
    assert names(watch) == ([], [])
    assert watch.missing
    away.rename(watch.folder)
    assert names(watch) == (["a.ogg"], [])
    assert not watch.missing
