"""Suffixes: every one a browser can be told of, and one that fits what a file is."""

import pytest

from narrate.hear.suffixes import FAMILIES, SUFFIXES, TYPES, true_suffix


def test_every_suffix_has_a_media_type() -> None:
    assert TYPES.keys() == SUFFIXES
    assert {suffix for family in FAMILIES.values() for suffix in family} <= SUFFIXES
    assert all(kind.split("/")[0] in {"audio", "video"} for kind in TYPES.values())


@pytest.mark.parametrize(
    ("name", "container", "suffix"),
    [
        ("Bay 2.M4A", "mov,mp4,m4a,3gp,3g2,mj2", ".m4a"),
        ("clip.mov", "mov,mp4,m4a,3gp,3g2,mj2", ".mov"),
        ("memo", "mov,mp4,m4a,3gp,3g2,mj2", ".m4a"),
        ("page.html", "ogg", ".ogg"),
        ("wrong.mp3", "wav", ".wav"),
        ("odd.wma", "something new", ".wma"),
        ("odd.exe", "something new", ""),
    ],
)
def test_the_suffix_fits_the_file(name: str, container: str, suffix: str) -> None:
    assert true_suffix(name, container) == suffix
