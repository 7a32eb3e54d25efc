"""`narrate score --read`, and a card that is not there."""

from pathlib import Path

from cli_fakes import Run

from narrate.score.reading import reading_list

SAMPLE = Path(__file__).parents[2] / "sample_audio" / "compact_brakes_tires.ogg"


def test_without_a_recording_the_sentences_are_printed(run: Run) -> None:
    result = run("score", "--read")
    assert result.exit_code == 0
    assert all(sentence in result.output for sentence in reading_list())


def test_a_recording_that_is_not_there_is_one_sentence(run: Run) -> None:
    result = run("score", "--read", "nothing.wav")
    assert result.exit_code == 1
    assert "There is no file nothing.wav; check the name." in result.output


def test_score_without_anything_says_what_it_wants(run: Run) -> None:
    result = run("score")
    assert result.exit_code == 2
    assert "use --read" in result.output


def test_a_missing_card_is_one_sentence(run: Run) -> None:
    result = run("transcribe", str(SAMPLE), "--device", "cuda")
    assert result.exit_code == 1
    assert "There is no CUDA card here that can be used" in result.output
