"""`narrate process`: files come out, once each, and a bad recording stops nothing."""

import json
from pathlib import Path

import pytest
from cli_fakes import BAD, FakeProcess, Run

FILES = {"findings.csv", "findings.xlsx", "findings.json", "findings.html", "findings.svg"}


def put(folder: Path, *names: str) -> None:
    """Recordings that differ from one another."""
    for name in names:
        (folder / name).parent.mkdir(parents=True, exist_ok=True)
        (folder / name).write_text(f"pads of {name}")


def test_one_recording_becomes_files_and_a_table(at: Path, run: Run, process: FakeProcess) -> None:
    """The table goes to standard output, where the files are to standard error."""
    put(at, "bay2.m4a")
    result = run("process", "bay2.m4a")
    assert 0 == result.exit_code
    assert FILES == {path.name for path in (at / "findings/bay2").iterdir()}
    assert "brake pad" in result.stdout
    assert "replace" in result.stdout
    assert "Written to findings" in result.stderr


def test_a_folder_is_searched_and_its_output_left_out(at: Path, run: Run, process: FakeProcess) -> None:
    """Recordings in it and below it, sorted; hidden files, other files and the output folder are not looked at."""
    put(at, "day/b.wav", "day/a.OGG", "day/van/c.mp4", "day/.hidden.wav", "day/notes.txt", "day/out/old.wav")
    result = run("process", "day", "--to", "day/out")
    assert 0 == result.exit_code
    assert [("a.OGG",), ("b.wav",), ("c.mp4",)] == process.names
    assert 3 == len(result.stdout.splitlines())
    assert "c: 1 finding, in" in result.stdout


def test_a_bad_recording_stops_nothing(at: Path, run: Run, process: FakeProcess) -> None:
    """The others are done, the bad one is named with why, and the exit code is 1."""
    put(at, "day/a.wav", "day/c.wav")
    (at / "day/b.wav").write_bytes(BAD)
    result = run("process", "day")
    assert 1 == result.exit_code
    assert {"a", "c"} == {path.name for path in (at / "findings").iterdir()}
    assert "1 recording could not be used:" in result.stderr
    assert "b.wav is not a recording that can be read" in result.stderr
    assert "b.wav" not in result.stdout


def test_a_single_bad_recording_is_one_sentence(at: Path, run: Run, process: FakeProcess) -> None:
    """Why, and nothing else; no folder is left."""
    (at / "b.wav").write_bytes(BAD)
    result = run("process", "b.wav")
    assert (1, "") == (result.exit_code, result.stdout)
    assert "b.wav is not a recording that can be read; save it again.\n" == result.stderr
    assert not (at / "findings/b").exists()


def test_what_is_done_is_not_done_again(at: Path, run: Run, process: FakeProcess) -> None:
    """The same command a second time says so and works on nothing, and shows the same."""
    put(at, "bay2.wav")
    first = run("process", "bay2.wav")
    second = run("process", "bay2.wav")
    assert [("bay2.wav",)] == process.names
    assert first.stdout == second.stdout
    assert "already done" in second.stderr


@pytest.mark.parametrize(
    "more", [["--again"], ["--model", "tiny.en"], ["--drive-side", "right"], ["--market", "gb"], ["--order", "o.toml"]]
)
def test_other_options_are_other_work(more: list[str], at: Path, run: Run, process: FakeProcess) -> None:
    """Another model, side, market or order gives other findings, so the recording is done again."""
    put(at, "bay2.wav")
    (at / "o.toml").write_text('number = "17"\n')
    run("process", "bay2.wav")
    result = run("process", "bay2.wav", *more)
    assert 2 == len(process.names)
    assert "already done" not in result.stderr
    assert ["bay2"] == [path.name for path in (at / "findings").iterdir()]


def test_other_audio_of_the_same_name_gets_its_own_folder(at: Path, run: Run, process: FakeProcess) -> None:
    """Neither overwrites the other, now or when the command is given again."""
    put(at, "mon/bay2.wav", "tue/bay2.wav")
    for _ in range(2):
        run("process", "mon", "tue")
    first, second = sorted(path.name for path in (at / "findings").iterdir())
    assert "bay2" == first
    assert len("bay2-12345678") == len(second)
    assert 2 == len(process.names)


def test_together_makes_one_walkaround(at: Path, run: Run, process: FakeProcess) -> None:
    """All recordings of one vehicle come in one list, named after the folder."""
    put(at, "van/1.wav", "van/2.wav")
    result = run("process", "van", "--together", "--json", "-")
    assert [("1.wav", "2.wav")] == process.names
    assert (at / "findings/van/findings.json").is_file()
    assert ["1.wav", "2.wav"] == [each["name"] for each in json.loads(result.stdout)["recordings"]]


def test_json_of_one_is_the_record(at: Path, run: Run, process: FakeProcess) -> None:
    """With - standard output holds nothing but the record; with a file the table is printed too."""
    put(at, "bay2.wav")
    printed = json.loads(run("process", "bay2.wav", "--json", "-").stdout)
    assert "narrate.walkaround/1" == printed["schema"]
    assert "brake pad" in run("process", "bay2.wav", "--json", "w.json").stdout
    assert printed == json.loads((at / "w.json").read_text("utf-8"))


def test_json_of_many_is_a_list(at: Path, run: Run, process: FakeProcess) -> None:
    """A folder gives a list, even of one; what failed is not in it."""
    put(at, "day/a.wav")
    (at / "day/b.wav").write_bytes(BAD)
    result = run("process", "day", "--json", "-")
    assert 1 == result.exit_code
    assert ["a.wav"] == [each["recordings"][0]["name"] for each in json.loads(result.stdout)]


def test_the_order_and_the_options_reach_the_work(at: Path, run: Run, process: FakeProcess) -> None:
    """An option wins over the order, the order over the settings."""
    put(at, "bay2.wav")
    (at / "order.json").write_text('{"number": "17", "market": "gb", "concerns": ["it squeals"]}')
    run("process", "bay2.wav", "--order", "order.json", "--drive-side", "left", "--model", "tiny.en")
    given = process.given[0]
    assert ("17", "gb", "left") == (given["order"].number, given["order"].market, given["order"].drive_side)
    assert ("gb", "left", "tiny.en") == (
        given["settings"].market,
        given["settings"].drive_side,
        given["settings"].model,
    )


def test_an_order_is_about_one_vehicle(at: Path, run: Run, process: FakeProcess) -> None:
    """One order over several walk-rounds would put one customer's concerns on another's car."""
    put(at, "day/a.wav", "day/b.wav")
    (at / "order.toml").write_text('number = "17"\n')
    result = run("process", "day", "--order", "order.toml")
    assert (2, []) == (result.exit_code, process.names)
    assert "--together" in result.stderr


def test_silence_is_said(at: Path, run: Run, process: FakeProcess) -> None:
    """No speech is no failure: it is said, and the list is empty."""
    (at / "quiet.wav").write_text("")
    result = run("process", "quiet.wav")
    assert 0 == result.exit_code
    assert "quiet.wav: No speech was heard." in result.stderr
    assert "No findings." in result.stdout
    assert [] == json.loads((at / "findings/quiet/findings.json").read_text("utf-8"))["findings"]


def test_a_folder_without_recordings_is_wrong_use(at: Path, run: Run, process: FakeProcess) -> None:
    """Nothing to do is said, not passed over."""
    (at / "empty").mkdir()
    result = run("process", "empty")
    assert 2 == result.exit_code
    assert "There is no recording in empty" in result.stderr


def test_stopping_keeps_what_is_done(at: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Ctrl-C exits with 130 and one sentence; the first recording's findings stay, the second leaves nothing."""

    def stop_at_b(path: Path) -> None:
        if path.name == "b.wav":
            raise KeyboardInterrupt

    monkeypatch.setattr("narrate.pipeline.process_recordings", FakeProcess(before=stop_at_b))
    put(at, "day/a.wav", "day/b.wav")
    result = run("process", "day")
    assert 130 == result.exit_code
    assert "Stopped; 1 walk-round done and kept. Run it again to go on.\n" == result.stderr
    assert ["a"] == [path.name for path in (at / "findings").iterdir()]
