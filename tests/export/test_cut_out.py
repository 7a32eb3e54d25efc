"""Where the sound is silent, and that no format has what was cut out."""

from pathlib import Path

import pytest

from narrate.export.cut_out import CUT, MARGIN_S, cut_spans, without_cuts
from narrate.export.files import WRITERS, export_walkaround
from narrate.records.capture import CommandSaid
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Edit
from narrate.records.walkaround import Evidence, MadeBy, Unplaced, Walkaround

TIMES = ((0.0, 0.4), (0.5, 0.9), (1.2, 1.5), (1.5, 2.0), (5.0, 5.4))


@pytest.fixture
def cut() -> Walkaround:
    """Five words, the third and fourth cut out."""
    words = tuple(Word(text=f"word{n}", start_s=a, end_s=b, probability=0.9) for n, (a, b) in enumerate(TIMES))
    evidence = Evidence(
        recording="r1", first_word=1, last_word=4, start_s=0.5, end_s=5.4, said="word1 word2 word3 word4"
    )
    return Walkaround(
        made_by=MadeBy(program="p", lexicon="l", settings="s"),
        recordings=(Recording(name="bay.ogg", words=words),),
        unplaced=(Unplaced(id="u1", why="no part named", evidence=(evidence,)),),
        commands=(CommandSaid(id="k1", command="mark", recording="r1", start_s=1.3, end_s=1.9, said="word2 word3"),),
        edits=(Edit(recording="r1", first_word=2, last_word=3, text="", cut=True, by="Ann"),),
    )


def test_silence_reaches_to_the_words_beside_it(cut: Walkaround) -> None:
    """Times of words are not exact, so what lies between them belongs to the cut; a second of it at the most."""
    assert cut_spans(cut, "r1") == ((0.9, 2.0 + MARGIN_S),)
    assert cut_spans(cut, "r2") == ()


def test_quotes_run_over_it(cut: Walkaround) -> None:
    given = without_cuts(cut)
    assert given.unplaced[0].evidence[0].said == f"word1 {CUT} word4"
    assert [word.text for word in given.recordings[0].words] == ["word0", "word1", CUT, CUT, "word4"]
    assert given.commands == ()


def test_an_edit_that_is_no_cut_stays_as_it_is(cut: Walkaround) -> None:
    taken_out = cut.model_copy(update={"edits": (cut.edits[0].model_copy(update={"cut": False}),)})
    assert without_cuts(taken_out) is taken_out
    assert cut_spans(taken_out, "r1") == ()


def test_no_file_has_it(cut: Walkaround, tmp_path: Path) -> None:
    paths = export_walkaround(cut, tmp_path)
    assert {path.suffix for path in paths} == set(WRITERS)
    for path in paths:
        content = path.read_bytes()
        assert b"word2" not in content
        assert b"word3" not in content
    assert b"word4" in (tmp_path / "findings.json").read_bytes()
