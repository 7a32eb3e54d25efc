"""The page's microphone check: bare samples and files, judged alike; nothing stays behind."""

import io
import wave
from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest
from starlette.testclient import TestClient

from narrate.hear.audio import RATE, decode
from narrate.hear.microphone_check import GOOD, NO_SOUND, TOO_SHORT
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.settings import Settings, project_folder
from narrate.store.engine import Store, open_store
from narrate.store.people import add_person

ASK = "/api/microphone-check"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def page(store: Store) -> TestClient:
    return TestClient(make_app(make_desk(store, Settings())), base_url="http://127.0.0.1:8000")


@pytest.fixture(scope="module")
def spoken() -> bytes:
    """Return five seconds of speech as bare samples."""
    path = project_folder("sample_audio") / "compact_brakes_tires.ogg"
    sound = decode(path, min_duration_s=0, max_duration_s=600).samples[3 * RATE : 8 * RATE]
    return np.rint(sound * 32767).astype("<i2").tobytes()


def as_wav(samples: bytes) -> bytes:
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setparams((1, 2, RATE, 0, "NONE", ""))
        writer.writeframes(samples)
    return file.getvalue()


def test_bare_samples_and_a_file_are_judged_alike(page: TestClient, store: Store, spoken: bytes) -> None:
    bare = page.post(ASK, content=spoken, headers={"content-type": "audio/L16;rate=16000"})
    file = page.post(ASK, content=as_wav(spoken), headers={"content-type": "audio/wav"})
    assert bare.status_code == file.status_code == 200
    assert bare.json() == file.json()
    assert bare.json()["good"] is True
    assert bare.json()["sentences"] == [GOOD]
    assert list((store.folder / "incoming").iterdir()) == []


def test_silence_and_too_little_are_told(page: TestClient) -> None:
    kind = {"content-type": "application/octet-stream"}
    assert page.post(ASK, content=bytes(5 * RATE * 2), headers=kind).json()["sentences"] == [NO_SOUND]
    assert page.post(ASK, content=b"\x01", headers=kind).json()["sentences"] == [TOO_SHORT]
    assert page.post(ASK, content=b"", headers=kind).json()["sentences"] == [TOO_SHORT]


def test_what_is_no_sound_is_refused_in_a_sentence(page: TestClient, store: Store) -> None:
    answer = page.post(ASK, content=b"not a recording", headers={"content-type": "audio/wav"})
    assert (answer.status_code, answer.json()["detail"]) == (
        422,
        "The sound of the check cannot be read; begin the check again.",
    )
    assert list((store.folder / "incoming").iterdir()) == []


def test_it_needs_somebody_of_the_shop(page: TestClient, store: Store, spoken: bytes) -> None:
    add_person(store, name="Ana", role="owner", who="test", pin="4711")
    assert page.post(ASK, content=spoken).status_code == 401
