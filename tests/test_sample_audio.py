"""The sample recordings: there, short, small, described, and spoken from the cases beside them."""

import json
import math
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from narrate.hear.audio import decode
from narrate.score.cases import read_cases
from narrate.settings import project_folder

FOLDER = project_folder("sample_audio")
RECORDINGS = sorted(FOLDER.glob("*.ogg"))


@pytest.fixture
def scripts(monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder's scripts can be imported, as when one of them is run."""
    monkeypatch.syspath_prepend(FOLDER)
    return FOLDER


@pytest.fixture
def make_samples(scripts: Path) -> ModuleType:
    import make_samples

    return make_samples


@pytest.fixture
def speak(scripts: Path) -> ModuleType:
    import speak

    return speak


@pytest.fixture
def shop_noise(scripts: Path) -> ModuleType:
    import shop_noise

    return shop_noise


def test_there_are_at_least_six_recordings_of_under_eight_megabytes_together() -> None:
    assert len(RECORDINGS) >= 6
    assert sum(path.stat().st_size for path in RECORDINGS) < 8_000_000


@pytest.mark.parametrize("path", RECORDINGS, ids=lambda path: path.stem)
def test_each_recording_lasts_40_to_120_seconds(path: Path) -> None:
    decode(path, min_duration_s=40, max_duration_s=120)  # raises for what is shorter or longer


def test_each_recording_has_the_case_of_its_name() -> None:
    cases = {file.path.stem: file.case for file in read_cases(FOLDER)}
    assert sorted(cases) == [path.stem for path in RECORDINGS]
    assert all(case.id == name and case.finding for name, case in cases.items())


def test_the_readme_tells_of_each_recording() -> None:
    readme = (FOLDER / "README.md").read_text("utf-8")
    assert [path.stem for path in RECORDINGS if f"| {path.stem} |" not in readme] == []


def test_each_recording_was_made_from_the_text_beside_it_as_the_table_says(make_samples: ModuleType) -> None:
    made = json.loads((FOLDER / make_samples.MADE).read_text("utf-8"))
    wanted = {
        name: make_samples.digest_of(make_samples.read_text(FOLDER / f"{name}.toml"), way)
        for name, way in make_samples.SAMPLES.items()
    }
    assert made == wanted


def test_two_recordings_have_the_noise_of_a_working_shop(make_samples: ModuleType) -> None:
    noises = [way.noise for way in make_samples.SAMPLES.values()]
    assert {"shop", "wrench"} <= set(noises)


def test_a_recording_that_is_there_is_left_alone_until_its_text_changes(
    make_samples: ModuleType, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    spoken: list[str] = []

    def speak_silence(text: str, **_way: object) -> np.ndarray:
        spoken.append(text)
        return np.zeros(16_000, np.int16)

    monkeypatch.setattr(make_samples, "speak", speak_silence)
    for text in ("one", "one", "two"):
        (tmp_path / "a.toml").write_text(f'said = "{text}"')
        make_samples.make(tmp_path, tmp_path / "out", make_samples.ways_for(tmp_path))
    assert spoken == ["one", "two"]
    assert (tmp_path / "out" / "a.ogg").is_file()


def test_a_text_is_cut_at_punctuation_but_not_inside_numbers(speak: ModuleType) -> None:
    assert speak.split_phrases("it's 4.5 mm, of 1,200. um - fine") == [
        "it's 4.5 mm,",
        "of 1,200.",
        "um",
        "fine",
    ]


@pytest.mark.parametrize("kind", ["fan", "compressor", "shop", "wrench"])
def test_noise_is_mixed_in_at_the_ratio_asked_for_and_alike_for_one_seed(shop_noise: ModuleType, kind: str) -> None:
    speech = np.sin(np.arange(80_000) * 0.3) * 0.1
    once, again = (shop_noise.mix(speech, kind, 15.0, np.random.default_rng(7)) for _ in range(2))
    noise = once - speech
    ratio_db = 10 * math.log10(shop_noise.active_power(speech) / float(np.mean(noise**2)))
    assert ratio_db == pytest.approx(15.0, abs=0.01)
    assert np.array_equal(once, again)
