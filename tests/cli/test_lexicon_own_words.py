"""`lexicon add`, `hide`, `list`, `export` and `import`: a shop keeps its own words."""

from pathlib import Path

import pytest
from cli_fakes import Run

from narrate.pipeline import work_key
from narrate.settings import Settings
from narrate.words.shop import shop_lexicon

SAID = "the front spinny plate is worn, replace it"


@pytest.fixture(autouse=True)
def data(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A shop without words of its own; its data folder is not there yet."""
    folder = tmp_path / "shop" / "data"
    monkeypatch.setenv("NARRATE_DATA", str(folder))
    return folder


def test_added_words_are_found(run: Run, data: Path) -> None:
    """What was not understood becomes a finding, and the list is in the data folder."""
    assert "brake rotor" not in run("lexicon", "try", SAID).stdout
    result = run("lexicon", "add", "Spinny-plate", "brake_rotor", "--heard", "--note", "Kev's phone")
    assert (0, "") == (result.exit_code, result.stdout)
    assert "'spinny plate' now means brake_rotor.\n" == result.stderr
    found = run("lexicon", "try", SAID).stdout
    assert "brake rotor" in found
    assert "heard 'spinny plate'" in found
    assert ["words.csv"] == [file.name for file in data.iterdir()]


def test_hidden_words_are_no_longer_found(run: Run) -> None:
    """The words stay visible as not understood; adding them again brings the part back."""
    said = "the alternator is noisy, replace it"
    before = run("lexicon", "try", said).stdout
    assert "No findings." not in before
    assert "'alternator' no longer means alternator.\n" == run("lexicon", "hide", "alternator", "alternator").stderr
    hidden = run("lexicon", "try", said).stdout
    assert "No findings." in hidden
    assert "the alternator is noisy" in hidden
    assert 0 == run("lexicon", "add", "alternator", "alternator").exit_code
    assert before == run("lexicon", "try", said).stdout


def test_hiding_tells_of_a_name_inside_the_name(run: Run) -> None:
    """Who hides the long name may think that the short one goes with it."""
    assert "'disc' in it means brake_rotor too" in run("lexicon", "hide", "brake disc", "brake_rotor").stderr


def test_refused_words_change_nothing(run: Run, data: Path) -> None:
    """The exit code is 1, one sentence on standard error says why, and nothing is written."""
    for words, means in (("brake disc", "wheel_bearing"), ("way bar link", "sway_bar_lnk"), ("mouse", "engine")):
        result = run("lexicon", "add", words, means)
        assert (1, "") == (result.exit_code, result.stdout)
        assert 1 == len(result.stderr.splitlines())
    assert not data.exists()


def test_the_list_shows_what_does_not_count(run: Run, data: Path) -> None:
    """Words that an update took the part from are listed with the reason."""
    assert str(data / "words.csv") in run("lexicon", "list").stderr
    run("lexicon", "add", "way bar link", "sway_bar_link", "--note", "Kev")
    with (data / "words.csv").open("a", encoding="utf-8") as file:
        file.write("spinny plate,brake_roter,alias,,\r\n")
    listed = run("lexicon", "list")
    rows = [line.split() for line in listed.stdout.splitlines()]
    assert "way bar link sway_bar_link alias yes Kev".split() in rows
    assert "spinny plate brake_roter alias no".split() in rows
    assert "did you mean brake_rotor" in listed.stderr
    assert "brake_roter" in run("lexicon", "check").stdout.splitlines()[0]


def test_a_list_goes_out_and_comes_back(run: Run, at: Path, data: Path) -> None:
    """What was added since is gone again, and the messages count it."""
    run("lexicon", "add", "way bar link", "sway_bar_link")
    run("lexicon", "hide", "brake disc", "brake_rotor")
    assert "2 lines" in run("lexicon", "export", "list.csv").stderr
    before = (data / "words.csv").read_bytes()
    run("lexicon", "add", "spinny plate", "brake_rotor")
    result = run("lexicon", "import", "list.csv")
    assert (0, "") == (result.exit_code, result.stdout)
    assert "2 lines of the shop's own words taken over from list.csv: 0 new, 1 gone." in result.stderr
    assert before == (data / "words.csv").read_bytes() == (at / "list.csv").read_bytes()


def test_nothing_is_taken_over_unless_all_rows_are_right(run: Run, at: Path, data: Path) -> None:
    """A list with one bad row leaves the shop's words as they are."""
    run("lexicon", "add", "way bar link", "sway_bar_link")
    before = (data / "words.csv").read_bytes()
    (at / "list.csv").write_text("words,component,kind\nspinny plate,brake_rotor,alias\nmouse,engine,alias\n")
    result = run("lexicon", "import", "list.csv")
    assert 1 == result.exit_code
    assert "list.csv row 3: 'mouse' is an everyday word" in result.stderr
    assert before == (data / "words.csv").read_bytes()


def test_with_other_words_work_is_done_again(run: Run) -> None:
    """What was made without a word of the shop's is not taken for what is made with it."""

    def key() -> str:
        return work_key(["audio"], Settings(), shop_lexicon(), None)

    without = key()
    run("lexicon", "add", "spinny plate", "brake_rotor")
    assert without != key()
    run("lexicon", "hide", "spinny plate", "brake_rotor")
    assert without == key()


def test_a_data_folder_can_be_named(run: Run, at: Path, data: Path) -> None:
    """--data goes before the variable."""
    run("lexicon", "add", "spinny plate", "brake_rotor", "--data", "here")
    assert (at / "here/words.csv").is_file()
    assert not data.exists()
    assert "brake rotor" in run("lexicon", "try", SAID, "--data", "here").stdout
    assert "brake rotor" not in run("lexicon", "try", SAID).stdout


def test_a_data_folder_that_cannot_be_made_is_told(run: Run, at: Path) -> None:
    """One sentence names it."""
    (at / "file").touch()
    result = run("lexicon", "add", "spinny plate", "brake_rotor", "--data", "file/data")
    assert 1 == result.exit_code
    assert "name another folder with --data" in result.stderr
