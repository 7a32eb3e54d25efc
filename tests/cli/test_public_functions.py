"""The handful of functions of `import narrate`."""

from pathlib import Path

import pytest
from cli_fakes import FakeProcess, fake_recording, fake_walkaround

import narrate
from narrate.hear import recognise

PLAIN = "front brake pads are worn out, replace them"


def test_the_names_are_there_and_sorted() -> None:
    """Everything promised exists and says what it does."""
    assert sorted(narrate.__all__) == narrate.__all__
    assert all(getattr(narrate, name).__doc__ for name in narrate.__all__)


def test_text_becomes_findings() -> None:
    """The example of the package's own docstring holds."""
    walkaround = narrate.find_in_text(PLAIN, market="gb")
    assert ["brake pad"] == [finding.component.name for finding in walkaround.findings]
    assert ("gb", "right") == (walkaround.market, walkaround.vehicle.drive_side)


def test_recordings_become_findings(at: Path, process: FakeProcess) -> None:
    """Paths may be text, and options reach the work."""
    (at / "a.wav").write_text(PLAIN)
    walkaround = narrate.process_recording("a.wav", model="tiny.en")
    assert "a.wav" == walkaround.recordings[0].name
    assert "tiny.en" == process.given[0]["settings"].model


def test_a_recording_is_transcribed(at: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The words of the file come back."""
    (at / "a.wav").write_text(PLAIN)
    monkeypatch.setattr(recognise, "hear", lambda path, **_: fake_recording(path))
    assert PLAIN.split() == [word.text for word in narrate.transcribe_recording("a.wav").words]


def test_a_walkaround_is_exported(at: Path) -> None:
    """All files are written and named."""
    (at / "a.wav").write_text(PLAIN)
    paths = narrate.export_walkaround(fake_walkaround([fake_recording(at / "a.wav")]), "out")
    assert {".csv", ".xlsx", ".json", ".html", ".svg"} == {path.suffix for path in paths if path.is_file()}


def test_cases_are_scored(at: Path) -> None:
    """A folder of cases gives a score."""
    text = 'schema = "narrate.case/1"\nid = "a"\norigin = "made up"\nsaid = "hello"\n'
    (at / "a.toml").write_text(text, "utf-8")
    assert 1 == len(narrate.score_cases(at).cases)


def test_the_lexicon_is_loaded() -> None:
    """narrate's own words."""
    assert "brake_pad" in narrate.load_lexicon().components
