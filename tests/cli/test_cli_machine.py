"""`models`, `doctor`, `demo`, `score` and `transcribe`: what is on this machine, and what it hears."""

import json
import shutil
from collections.abc import Sequence
from pathlib import Path

import pytest
from cli_fakes import FakeProcess, Run, fake_recording, fake_walkaround

from narrate.cli import doctor
from narrate.cli.demo import SAMPLE
from narrate.errors import NarrateError
from narrate.records.recording import Recording
from narrate.settings import Settings, project_folder

SPEECH = Path(__file__).parent.parent / "data/speech_short"
CASE = """
schema = "narrate.case/1"
id = "pads"
origin = "made up"
said = "The front brake pads are worn out, replace them."
[[finding]]
component = ["brake pad"]
locations = [["front left", "front right"]]
status = "fault"
conditions = ["worn"]
actions = ["replace"]
"""


def test_models_are_listed(run: Run) -> None:
    """Every model of the manifest with its state, as a table and as JSON."""
    result = run("models", "list")
    assert 0 == result.exit_code
    assert "tiny.en" in result.stdout
    states = json.loads(run("models", "list", "--json", "-").stdout)
    assert {"tiny.en", "base"} <= {state["name"] for state in states}


def test_an_unknown_model_cannot_be_verified(run: Run) -> None:
    """One sentence says which there are."""
    result = run("models", "verify", "enormous")
    assert (1, "") == (result.exit_code, result.stdout)
    assert "There is no model 'enormous' in the manifest" in result.stderr


def test_no_installed_model_is_a_failure(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nothing to verify is not the same as all is well."""
    monkeypatch.setattr("narrate.hear.weights.list_models", lambda: ())
    result = run("models", "verify")
    assert 1 == result.exit_code
    assert "No speech model is installed" in result.stderr


def test_the_doctor_says_what_is_wrong(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """The other checks go on, the wrong one says what to do, and the exit code is 1."""

    def wrong() -> str:
        message = "It is out of tune; tune it."
        raise NarrateError(message)

    monkeypatch.setattr(doctor, "CHECKS", {"Horn": wrong, "Python": doctor.CHECKS["Python"]})
    result = run("doctor")
    assert 1 == result.exit_code
    assert "Horn: WRONG. It is out of tune; tune it." in result.stdout
    assert "Python: 3." in result.stdout


def test_the_doctor_reads_the_settings(at: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A mistake in the shop's settings is told as such, not as a crash."""
    (at / "settings.toml").write_text("marked = 'us'\n")
    monkeypatch.setenv("NARRATE_SETTINGS", str(at / "settings.toml"))
    monkeypatch.setattr(doctor, "CHECKS", {"Settings": doctor.CHECKS["Settings"]})
    result = run("doctor")
    assert 1 == result.exit_code
    assert "Settings: WRONG." in result.stdout
    assert "marked" in result.stdout


@pytest.mark.parametrize("what", ["Python", "Settings", "Lexicon", "Decoding of recordings", "Recognition"])
def test_the_doctor_finds_this_machine_well(what: str) -> None:
    """Where the tests run, each of these is fine."""
    assert doctor.CHECKS[what]().endswith(".")


def test_the_demo_uses_its_sample(at: Path, run: Run, process: FakeProcess, monkeypatch: pytest.MonkeyPatch) -> None:
    """It says what it listens to, prints the table and writes the files where it says."""
    samples = at / "samples"
    samples.mkdir()
    for name in ("a.ogg", SAMPLE, "README.md"):
        (samples / name).write_text("pads worn")

    monkeypatch.setattr(
        "narrate.settings.project_folder", lambda name: samples if name == "sample_audio" else project_folder(name)
    )
    result = run("demo")
    assert 0 == result.exit_code
    assert [(SAMPLE,)] == process.names
    assert "base" == process.given[0]["settings"].model
    assert "brake pad" in result.stdout
    assert (
        "Written to findings: findings.csv, findings.xlsx, findings.json, findings.html, findings.svg." in result.stderr
    )
    assert (at / "findings/findings.csv").is_file()
    assert "figures are invented" in result.stderr
    assert {"estimate.html", "estimate.pdf"} <= {Path(line).name for line in result.stdout.split()}


def test_cases_are_scored_from_text(at: Path, run: Run) -> None:
    """The figures are printed, and are JSON for programs."""
    (at / "pads.toml").write_text(CASE, "utf-8")
    assert "component" in run("score", "pads.toml").stdout
    score = json.loads(run("score", "pads.toml", "--json", "-").stdout)
    assert {"right": 1, "owed": 1}.items() <= score["counts"]["component"].items()


def test_cases_are_scored_from_recordings(at: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A recording belongs to the case it is named after; a case without one is named and left out."""
    (at / "cases").mkdir()
    (at / "audio").mkdir()
    (at / "cases/pads.toml").write_text(CASE, "utf-8")
    (at / "cases/other.toml").write_text(CASE.replace('"pads"', '"other"'), "utf-8")
    (at / "audio/pads.ogg").write_text("the front brake pads are worn out replace them")
    monkeypatch.setattr(
        "narrate.score.place.process_recordings",
        lambda paths, **_: fake_walkaround([fake_recording(path) for path in paths]),
    )
    result = run("score", "cases", "--audio", "audio", "--json", "-")
    assert "1 case left out for want of a recording: other." in result.stderr
    score = json.loads(result.stdout)
    assert 1 == score["cases"]
    assert 0.0 == score["shares"]["word error rate"]["share"]


def test_no_recording_of_any_case_is_a_failure(at: Path, run: Run) -> None:
    """The sentence says how recordings are named."""
    (at / "pads.toml").write_text(CASE, "utf-8")
    (at / "audio").mkdir()
    result = run("score", "pads.toml", "--audio", "audio")
    assert (1, "") == (result.exit_code, result.stdout)
    assert "pads.wav" in result.stderr


def test_a_transcript_is_lines_with_times(at: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """A sentence ends a line, and the JSON is the recording."""
    (at / "a.wav").write_text("Pads are worn. Replace them.")
    given = []

    def hear(paths: Sequence[Path], *, settings: Settings, **_: object) -> list[Recording]:
        given.append(settings)
        return [fake_recording(path) for path in paths]

    monkeypatch.setattr("narrate.pipeline.hear_recordings", hear)
    result = run("transcribe", "a.wav", "--no-hints")
    assert ["0:00  Pads are worn.", "0:03  Replace them."] == [line.strip() for line in result.stdout.splitlines()]
    assert not given[0].hints
    assert "a.wav" == json.loads(run("transcribe", "a.wav", "--json", "-").stdout)["name"]
    assert given[1].hints


@pytest.mark.model
def test_a_real_recording_is_transcribed(run: Run) -> None:
    """A well-known sentence comes out as it was said."""
    result = run("transcribe", SPEECH / "jfk.flac", "--model", "tiny.en")
    assert 0 == result.exit_code
    assert "your country" in result.stdout


@pytest.mark.model
def test_a_real_recording_is_processed(at: Path, run: Run) -> None:
    """From the file to the findings' files, with a bad file beside it."""
    (at / "day").mkdir()
    shutil.copy(SPEECH / "jfk.flac", at / "day/jfk.flac")
    (at / "day/bad.mp3").write_bytes(b"no sound at all")
    result = run("process", "day", "--model", "tiny.en")
    assert 1 == result.exit_code
    assert "bad.mp3" in result.stderr
    record = json.loads((at / "findings/jfk/findings.json").read_text("utf-8"))
    assert "tiny.en" == record["recordings"][0]["model"]
    assert "country" in {word["text"].strip(".,") for word in record["recordings"][0]["words"]}


@pytest.mark.model
def test_an_installed_model_is_verified(run: Run) -> None:
    """Every byte is what the manifest says."""
    result = run("models", "verify", "tiny.en")
    assert 0 == result.exit_code
    assert result.stdout.startswith("tiny.en: whole, in ")


def test_the_demo_says_when_its_sample_is_missing(at: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    """One sentence, and what to do."""
    monkeypatch.setattr("narrate.settings.project_folder", lambda _: at)
    result = run("demo")
    assert 1 == result.exit_code
    assert "is missing; install narrate again." in result.stderr
