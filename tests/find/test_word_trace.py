"""Every word of a recording is told with what the stages made of it and where it ended up."""

from narrate.find.mining import find_findings, text_recording
from narrate.find.word_trace import WordTrace, explain_words
from narrate.records.walkaround import MadeBy
from narrate.words.lexicon import Lexicon

SAID = "left rear tyre is worn at two, no, make that three mm. customer says it squeals. the wibbet is odd"


def told(lexicon: Lexicon) -> dict[str, WordTrace]:
    """Each word of SAID, by its text without punctuation (the last of its kind)."""
    made_by = MadeBy(program="x", lexicon="x", settings="x")
    walkaround = find_findings([text_recording(SAID)], lexicon=lexicon, made_by=made_by)
    words = list(explain_words(walkaround, walkaround.recordings[0], lexicon))
    assert [each.number for each in words] == list(range(len(SAID.split())))
    return {each.word.text.strip(".,"): each for each in words}


def test_a_word_shows_its_spelling_its_meaning_and_its_finding(lexicon: Lexicon) -> None:
    tyre = told(lexicon)["tyre"]
    assert ("tokens", "read as “tire”") in tyre.recorded
    assert ("mentions", "component tire") in tyre.recorded
    assert tyre.stands_in == ("f1",)


def test_a_place_shows_the_part_it_was_joined_to(lexicon: Lexicon) -> None:
    assert any(stage == "joining" and "“tyre”" in what for stage, what in told(lexicon)["rear"].recorded)


def test_what_was_taken_back_says_so(lexicon: Lexicon) -> None:
    assert ("repairs", "taken back") in told(lexicon)["two"].recorded


def test_the_customers_words_stand_in_a_concern(lexicon: Lexicon) -> None:
    squeals = told(lexicon)["squeals"]
    assert ("scopes", "customer") in squeals.recorded
    assert squeals.stands_in == ("c1",)


def test_a_word_nobody_knows_is_told_as_unknown(lexicon: Lexicon) -> None:
    assert any("unknown" in what for _, what in told(lexicon)["wibbet"].recorded)
