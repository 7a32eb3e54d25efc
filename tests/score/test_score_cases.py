"""Cases are read strictly, and mistakes are told with file and key path."""

from pathlib import Path

import pytest

from narrate.errors import RecordError
from narrate.score.cases import read_case_file, read_cases

GOOD = """schema = "narrate.case/1"
id = "{id}"
origin = "made up"
said = "front pads are worn"

[[finding]]
component = ["brake pad"]
locations = [["front left", "front right"], ["front"]]
prices = [["22.00", ""]]
"""


def write(path: Path, text: str = GOOD, *, case_id: str = "a") -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(text.replace("{id}", case_id), "utf-8")
    return path


def test_a_case_is_read(tmp_path: Path) -> None:
    """Lists come as tuples and a key that is missing is known to be missing."""
    [file] = read_case_file(write(tmp_path / "a.toml"))
    [expected] = file.case.finding
    assert (("front left", "front right"), ("front",)) == expected.locations
    assert {"component", "locations", "prices"} == expected.model_fields_set


def test_a_folder_is_read_with_its_folders(tmp_path: Path) -> None:
    """Cases come in the order of their paths; those under `judge` may not be tuned on."""
    write(tmp_path / "b.toml", case_id="b")
    write(tmp_path / "judge" / "deep" / "c.toml", case_id="c")
    write(tmp_path / "a.toml", case_id="a")
    assert [("a", True), ("b", True), ("c", False)] == [(file.case.id, file.tunable) for file in read_cases(tmp_path)]


def listed(*cases: str) -> str:
    """The same cases as a list."""
    return "\n".join("[[case]]\n" + case.replace("[[finding]]", "[[case.finding]]") for case in cases)


def test_a_file_may_hold_several_cases(tmp_path: Path) -> None:
    """They come in the order written, and know which keys any of them uses."""
    told = GOOD.replace("{id}", "b") + 'reason = ["heat"]\n'
    files = read_cases(write(tmp_path / "judge" / "deep" / "er" / "a.toml", listed(GOOD, told)))
    assert [("a", False), ("b", False)] == [(file.case.id, file.tunable) for file in files]
    assert [True, True] == ["reason" in (file.keys or ()) for file in files]
    assert "plate" not in (files[0].keys or ())


@pytest.mark.parametrize(
    ("text", "message"),
    [
        (
            listed(GOOD, GOOD.replace("component", "part")),
            r"a\.toml: case\[1\]\.finding\[0\]\.component: Field required",
        ),
        ('note = "x"\n' + listed(GOOD), r"a\.toml: note: Extra inputs are not permitted"),
        (listed(GOOD, GOOD), r"a\.toml: id: 'a' is used by another case"),
        ("case = []", r"a\.toml: case: Tuple should have at least 1 item"),
    ],
)
def test_a_mistake_in_a_list_names_its_case(text: str, message: str, tmp_path: Path) -> None:
    """The key path begins with the number of the case."""
    with pytest.raises(RecordError, match=message):
        read_cases(write(tmp_path / "a.toml", text))


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('said = "', 'sayd = "x"\nsaid = "', r"a\.toml: sayd: Extra inputs are not permitted\."),
        ('component = ["brake pad"]', "", r"a\.toml: finding\[0\]\.component: Field required\."),
        ("[[finding]]", "[[finding]]\nwhere = 1", r"a\.toml: finding\[0\]\.where: Extra inputs"),
        ("narrate.case/1", "narrate.case/2", r"a\.toml: schema: Input should be 'narrate\.case/1'"),
        ('"made up"', '"dreamt"', r"a\.toml: origin: Input should be"),
        ('id = "', "id = ", r"a\.toml: is not TOML: .* line 2"),
    ],
)
def test_a_mistake_names_file_and_key(old: str, new: str, message: str, tmp_path: Path) -> None:
    """Whoever wrote the case finds the mistake without searching."""
    path = write(tmp_path / "a.toml", GOOD.replace(old, new))
    with pytest.raises(RecordError, match=message):
        read_cases(path)


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    """One line a mistake, over all files, used-up ids included."""
    for name in ("a", "b"):
        write(tmp_path / f"{name}.toml", case_id="same")
    write(tmp_path / "c.toml", "x = 1")
    with pytest.raises(RecordError) as caught:
        read_cases(tmp_path)
    lines = str(caught.value).splitlines()
    assert 2 == sum("id: 'same' is used by another case" in line for line in lines)
    assert 5 == sum("c.toml: " in line for line in lines)


def test_no_case_is_told(tmp_path: Path) -> None:
    """An empty folder and a missing file are each a sentence."""
    with pytest.raises(RecordError, match="holds no case"):
        read_cases(tmp_path)
    with pytest.raises(RecordError, match=r"none\.toml: cannot be read"):
        read_cases(tmp_path / "none.toml")
