"""Orders are read strictly, as TOML or as JSON."""

from pathlib import Path

import pytest

from narrate.errors import UsageError
from narrate.work.order_file import read_order


@pytest.mark.parametrize(
    "text",
    [
        'number = "17"\nconcerns = ["it squeals"]\n[vehicle]\nyear = 2014\n',
        '{"number": "17", "concerns": ["it squeals"], "vehicle": {"year": 2014}}',
        '\ufeff{"number": "17", "concerns": ["it squeals"], "vehicle": {"year": 2014}}',
    ],
)
def test_both_forms_give_the_same_order(text: str, tmp_path: Path) -> None:
    """The form is told by the content; a mark at the beginning does no harm."""
    (tmp_path / "order").write_text(text, "utf-8")
    order = read_order(tmp_path / "order")
    assert ("17", ("it squeals",), 2014) == (order.number, order.concerns, order.vehicle.year)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (b'numbr = "17"', "order: numbr: unknown key"),
        (b'[vehicle]\nyear = "old"', "order: vehicle.year: "),
        (b'market = "mars"', "order: market: "),
        (b"number = ", "neither TOML nor JSON"),
        (b'{"number": ', "neither TOML nor JSON"),
        (b"\xff\xfe", "neither TOML nor JSON"),
    ],
)
def test_a_mistake_names_file_and_key(content: bytes, told: str, tmp_path: Path) -> None:
    """Nothing that was written is passed over in silence."""
    (tmp_path / "order").write_bytes(content)
    with pytest.raises(UsageError) as raised:
        read_order(tmp_path / "order")
    assert told in str(raised.value)


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    """One line each."""
    (tmp_path / "order").write_text('numbr = "17"\nmarket = "mars"\n')
    with pytest.raises(UsageError) as raised:
        read_order(tmp_path / "order")
    assert 2 == len(str(raised.value).splitlines())


def test_a_missing_order_is_told(tmp_path: Path) -> None:
    """The file is named."""
    with pytest.raises(UsageError, match="cannot be read"):
        read_order(tmp_path / "none")
