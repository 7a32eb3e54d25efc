"""The file of the shop's own words, as it is kept, exported, edited in a spreadsheet and imported."""

import logging
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from small_lexicon import OWN, SMALL

from narrate.errors import NarrateError
from narrate.words.meanings import OwnWord, tidy
from narrate.words.shop import (
    imported,
    own_rows,
    own_words_csv,
    own_words_file,
    read_own_words,
    shop_lexicon,
    tidy_note,
)

HEADING = "words,component,kind,needs_context,note\n"
Kept = Callable[[str], Path]


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Kept:
    """Write lines into the file of a shop's own words, in a data folder of its own."""
    monkeypatch.setenv("NARRATE_DATA", str(tmp_path / "data"))

    def write(lines: str) -> Path:
        file = own_words_file()
        file.parent.mkdir(exist_ok=True)
        file.write_text(HEADING + lines, "utf-8")
        return file

    return write


def wrong(text: str) -> list[str]:
    """What is told of a file that is imported, line by line."""
    with pytest.raises(NarrateError) as raised:
        imported(text.encode(), "list.csv", OWN)
    return str(raised.value).splitlines()


own_words = st.lists(
    st.builds(
        OwnWord,
        words=st.text("kqvxz", min_size=5, max_size=9).map(tidy).filter(lambda words: words not in OWN.everyday),
        means=st.sampled_from(["brake_rotor", "radiator_hose", "worn", "replace"]),
        kind=st.just("alias"),
        needs_context=st.booleans(),
        note=st.text(max_size=12).map(tidy_note) | st.sampled_from(["=1+1", "'=1", "''-", "@a", 'say "it", twice;']),
    )
    | st.builds(
        OwnWord,
        words=st.sampled_from(["rotor", "brake disc", "disc rotor"]),
        means=st.just("brake_rotor"),
        kind=st.just("hide"),
        note=st.text(max_size=12).map(tidy_note),
    ),
    max_size=8,
    unique_by=lambda own: own.words,
).map(tuple)


@settings(deadline=None, max_examples=25)
@given(own_words)
def test_export_then_import_gives_the_same(own: tuple[OwnWord, ...]) -> None:
    """Whatever the words and the notes, nothing is lost, changed or put in another order."""
    assert own == imported(own_words_csv(own), "list.csv", SMALL)


@pytest.mark.parametrize("mark", ["=", "+", "-", "@"])
def test_a_spreadsheet_runs_nothing(mark: str) -> None:
    """A note that looks like a formula is marked as text in the file."""
    line = own_words_csv((OwnWord(words="way bar link", means="sway_bar_link", note=f"{mark}1+1"),)).splitlines()[1]
    assert line.endswith(f",'{mark}1+1".encode())


@pytest.mark.parametrize(
    "text",
    [
        "words,component,kind\nway bar link,sway_bar_link,heard\n",
        "\ufeffWords;Component;Kind;Note\r\nWay-Bar Link;sway_bar_link;Heard;\r\n\r\n;;;\r\n",
        "kind\tcomponent\twords\t\nheard\tsway_bar_link\t way bar link\t\n",
    ],
)
def test_what_spreadsheets_save_is_read(text: str) -> None:
    """With commas, semicolons or tabs, any order of columns, capitals, blanks and empty rows."""
    own = imported(text.encode(), "list.csv", OWN)
    assert (OwnWord(words="way bar link", means="sway_bar_link", kind="heard"),) == own


def test_every_bad_row_is_told_with_its_number() -> None:
    """Numbers are those a spreadsheet shows, empty rows counted; a right row among them is not told."""
    first, *lines = wrong(
        f"{HEADING}way bar link,sway_bar_link,heard,,\n"
        "thing,no_such_part_at_all,alias,,\n"
        "\n"
        "brake disc,caliper_bracket,alias,,\n"
        "way link,sway_bar_link,aka,,\n"
        ",sway_bar_link,alias,,\n"
        "way link,sway_bar_link,alias,perhaps,\n"
        "way link,sway_bar_link,alias,,,more\n"
        "way bar link,sway_bar_link,hide,,\n"
        "rotor,brake_rotor,hide,yes,\n"
    )
    assert "list.csv has 8 wrong rows; nothing was taken over:" == first
    assert [3, 5, 6, 7, 8, 9, 10, 11] == [int(line.split("row ")[1].split(":")[0]) for line in lines]
    assert all(line.startswith("  list.csv row ") for line in lines)
    whys = ["called 'no_such_part_at_all'", "means brake_rotor already", "kind is 'aka'", "words is empty"]
    whys += ["needs_context is 'perhaps'", "more cells", "does not mean sway_bar_link", "leave out one of the two"]
    assert [] == [(line, why) for line, why in zip(lines, whys, strict=True) if why not in line]


def test_two_rows_about_the_same_are_told() -> None:
    """The second is: which of the two was meant, nobody can tell."""
    row = "way bar link,sway_bar_link,alias,,\n"
    assert "row 3: 'way bar link' and sway_bar_link stand there more than once" in wrong(HEADING + row + row)[1]


@pytest.mark.parametrize(
    ("content", "why"),
    [
        (b"", "must begin with a row naming the columns"),
        (b"words,kind\n", "must begin with a row naming the columns"),
        (b"words,component,kind,colour\n", "must begin with a row naming the columns"),
        (b"words,component,kind,words\n", "must begin with a row naming the columns"),
        (b"words,component,kind\n\xff\xfe", "not in UTF-8"),
        (b'words,component,kind\n"a"b,c,alias\n', "not a CSV file"),
    ],
)
def test_what_is_no_list_of_words_is_told(content: bytes, why: str) -> None:
    """One sentence says what is expected."""
    with pytest.raises(NarrateError, match=why) as raised:
        own_rows(content, "list.csv")
    assert str(raised.value).startswith("list.csv ")


def test_the_shop_s_words_are_loaded_with_the_lexicon(kept: Kept) -> None:
    """They count, and they are in the digest; without any it is the very lexicon that ships."""
    assert OWN.digest == shop_lexicon().digest
    kept("way bar link,sway_bar_link,alias,,\n")
    lexicon = shop_lexicon()
    assert ("way", "bar", "link") in {phrase.words for phrase in lexicon.phrases() if phrase.id == "sway_bar_link"}
    assert OWN.digest != lexicon.digest


def test_a_named_folder_goes_before_the_variable(kept: Kept, tmp_path: Path) -> None:
    """--data reaches here as an argument."""
    kept("way bar link,sway_bar_link,alias,,\n")
    assert OWN.digest == shop_lexicon(tmp_path / "other").digest


def test_words_that_no_longer_fit_are_told_and_stop_nothing(kept: Kept, caplog: pytest.LogCaptureFixture) -> None:
    """After an update the rest of the list counts; what narrate knows by itself by now is not worth a word."""
    kept("spinny plate,gone_part_id,alias,,\nrotor,brake_rotor,alias,,\nspinny plate,brake_rotor,alias,,\n")
    with caplog.at_level(logging.WARNING):
        lexicon = shop_lexicon()
    assert ("spinny", "plate") in {phrase.words for phrase in lexicon.phrases()}
    assert 1 == len(caplog.records)
    assert "gone_part_id" in caplog.text


def test_a_damaged_list_is_an_error_with_file_and_row(kept: Kept) -> None:
    """Words must not be lost in silence."""
    file = kept("way bar link,sway_bar_link,alias,,\nway bar link,sway_bar_link,aka,,\n")
    with pytest.raises(NarrateError) as raised:
        read_own_words()
    assert f"{file} has 1 wrong row; correct it:\n  words.csv row 3: kind is 'aka'" in str(raised.value)
