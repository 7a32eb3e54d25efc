"""Sound and pictures out: originals in part and whole, clips, stills, attachments."""

import io
import struct
import wave
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from starlette.testclient import TestClient

from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.settings import Settings
from narrate.store.attachments import attachments_of
from narrate.store.engine import Store, open_store
from narrate.store.recordings import keep_recording, recording_file
from narrate.store.walkarounds import add_walkaround

HERE = "http://127.0.0.1:8000"


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def page(store: Store) -> TestClient:
    return TestClient(make_app(make_desk(store, Settings())), base_url=HERE, follow_redirects=False)


@pytest.fixture
def bay(store: Store, tmp_path: Path) -> str:
    """Six seconds of a tone, kept; its sha256."""
    path = tmp_path / "tone.wav"
    samples = 9000 * np.sin(2 * np.pi * 300 * np.arange(6 * 16_000) / 16_000)
    with wave.open(str(path), "wb") as writer:
        writer.setparams((1, 2, 16_000, 0, "NONE", ""))
        writer.writeframes(samples.astype("<i2").tobytes())
    return keep_recording(store, path, name="bay.wav", suffix=".wav", duration_s=6.0)


@pytest.fixture
def film(store: Store, tmp_path: Path) -> str:
    """Two seconds of grey pictures, kept; its sha256."""
    path = tmp_path / "grey.mp4"
    with av.open(str(path), "w") as container:
        track = container.add_stream("libx264", rate=10)
        track.width, track.height, track.pix_fmt = 64, 48, "yuv420p"
        for _ in range(20):
            frame = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 90, np.uint8), format="rgb24")
            for packet in track.encode(frame):
                container.mux(packet)
        for packet in track.encode(None):
            container.mux(packet)
    return keep_recording(store, path, name="under the car.mp4", suffix=".mp4", duration_s=2.0, video=True)


@pytest.fixture
def walkaround(store: Store, bay: str, film: str) -> str:
    recordings = (Recording(id="r1", name="bay.wav", sha256=bay), Recording(id="r2", name="under.mp4", sha256=film))
    made = Walkaround(made_by=MadeBy(program="p", lexicon="l", settings="s"), recordings=recordings)
    return add_walkaround(store, made, who="Ana")


def length_s(data: bytes) -> float:
    with av.open(io.BytesIO(data)) as container:
        return sum(frame.samples / frame.rate for frame in container.decode(audio=0))


def jpeg_with_place() -> bytes:
    """A photo as a phone takes it, with a place in it."""
    codec = av.CodecContext.create("mjpeg", "w")
    codec.width, codec.height, codec.pix_fmt, codec.time_base = 64, 48, "yuvj420p", 1
    frame = av.VideoFrame.from_ndarray(np.full((48, 64, 3), 90, np.uint8), format="rgb24")
    data = b"".join(bytes(packet) for packet in (*codec.encode(frame), *codec.encode(None)))
    body = b"Exif\0\0MM\0*\0\0\0\x08\0\0 GPS 52.5163 N"
    return data[:2] + b"\xff\xe1" + struct.pack(">H", len(body) + 2) + body + data[2:]


def test_an_original_comes_whole_and_in_part(page: TestClient, store: Store, bay: str) -> None:
    data = recording_file(store, bay).read_bytes()
    whole = page.get(f"/audio/{bay}")
    assert (whole.status_code, whole.content, whole.headers["content-type"]) == (200, data, "audio/wav")
    assert whole.headers["accept-ranges"] == "bytes"
    assert "no-store" in whole.headers["cache-control"]
    part = page.get(f"/audio/{bay}", headers={"range": "bytes=100-199"})
    assert (part.status_code, part.content) == (206, data[100:200])
    assert part.headers["content-range"] == f"bytes 100-199/{len(data)}"
    assert page.get(f"/audio/{bay}", headers={"range": f"bytes={len(data)}-"}).status_code == 416


@pytest.mark.parametrize("name", ["0" * 64, "..%2f..%2fnarrate.sqlite3", "x"])
def test_a_recording_there_is_not_is_told(page: TestClient, name: str) -> None:
    assert page.get(f"/audio/{name}").status_code == 404
    assert page.get(f"/api/recordings/{name}/still?at_s=0").status_code == 404


def test_a_clip_has_its_margins(page: TestClient, walkaround: str) -> None:
    answer = page.get(f"/walkarounds/{walkaround}/clip?recording=r1&start_s=2&end_s=3.5")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "audio/ogg")
    assert length_s(answer.content) == pytest.approx(2.5, abs=0.05)


@pytest.mark.parametrize(
    ("asked", "status", "says"),
    [
        ("recording=r1&start_s=3&end_s=2", 422, "no stretch of time"),
        ("recording=r1&start_s=60&end_s=61", 422, "bay.wav has no sound at 1:00"),
        ("recording=r9&start_s=1&end_s=2", 404, "no recording 'r9'"),
        ("recording=r1&start_s=nan&end_s=2", 422, "start_s"),
        ("recording=r1&start_s=1", 422, "end_s"),
        ("recording=r2&start_s=0&end_s=1", 422, "under the car.mp4 has no sound track"),
    ],
)
def test_a_clip_that_cannot_be_is_refused(
    page: TestClient, walkaround: str, asked: str, status: int, says: str
) -> None:
    answer = page.get(f"/walkarounds/{walkaround}/clip?{asked}", headers={"sec-fetch-dest": "empty"})
    assert answer.status_code == status
    assert says in answer.json()["detail"]


def test_a_still_comes_from_a_video_alone(page: TestClient, bay: str, film: str) -> None:
    answer = page.get(f"/api/recordings/{film}/still?at_s=1.2")
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/jpeg")
    assert answer.content.startswith(b"\xff\xd8\xff")
    sound = page.get(f"/api/recordings/{bay}/still?at_s=1")
    assert sound.status_code == 422
    assert sound.json()["detail"] == "bay.wav has sound only; a still needs a video."
    assert page.get(f"/api/recordings/{film}/still?at_s=-1").status_code == 422


def test_a_photo_is_attached_without_its_place(page: TestClient, store: Store, walkaround: str) -> None:
    path = f"/api/walkarounds/{walkaround}/attachments"
    answer = page.post(path, files={"photo": ("IMG_1.jpg", jpeg_with_place(), "image/jpeg")})
    assert answer.status_code == 201
    shown = page.get(f"/attachments/{answer.json()['id']}")
    assert (shown.status_code, shown.headers["content-type"]) == (200, "image/jpeg")
    assert b"GPS" not in shown.content
    assert [each.kind for each in attachments_of(store, walkaround)] == ["photo"]
    assert list((store.folder / "incoming").iterdir()) == []


def test_a_still_and_a_clip_are_attached(page: TestClient, store: Store, walkaround: str) -> None:
    path = f"/api/walkarounds/{walkaround}/attachments"
    still = page.post(path, json={"still": {"recording": "r2", "at_s": 1.0}})
    clip = page.post(path, json={"clip": {"recording": "r1", "start_s": 2.0, "end_s": 3.0}})
    assert [still.status_code, clip.status_code] == [201, 201]
    kept = attachments_of(store, walkaround)
    assert [each.id for each in kept] == [still.json()["id"], clip.json()["id"]]
    assert [each.text for each in kept] == ["under.mp4 at 0:01", "bay.wav from 0:02 to 0:03"]
    sound = page.get(f"/attachments/{clip.json()['id']}")
    assert sound.headers["content-type"] == "audio/ogg"
    assert length_s(sound.content) == pytest.approx(2.0, abs=0.05)


@pytest.mark.parametrize(
    ("asked", "status", "says"),
    [
        ({}, 422, "Ask for one thing"),
        ({"still": {"recording": "r2", "at_s": 0}, "clip": {"recording": "r1", "start_s": 0, "end_s": 1}}, 422, "one"),
        ({"still": {"recording": "r1", "at_s": 0}}, 422, "bay.wav has sound only"),
        ({"still": {"recording": "r9", "at_s": 0}}, 404, "no recording"),
        ({"still": {"recording": "r2", "at_s": -1}}, 422, "still.at_s"),
        ({"photo": "x"}, 422, "photo"),
        ([], 422, "correct it"),
    ],
)
def test_what_cannot_be_attached_is_refused(
    page: TestClient, store: Store, walkaround: str, asked: object, status: int, says: str
) -> None:
    answer = page.post(f"/api/walkarounds/{walkaround}/attachments", json=asked)
    assert answer.status_code == status
    assert says in answer.json()["detail"]
    assert attachments_of(store, walkaround) == ()


def test_a_photo_that_is_none_is_refused(page: TestClient, store: Store, walkaround: str) -> None:
    path = f"/api/walkarounds/{walkaround}/attachments"
    drawing = page.post(path, files={"photo": ("a.svg", b"<svg/>", "image/svg+xml")})
    assert drawing.status_code == 422
    assert "JPEG, PNG or WebP" in drawing.json()["detail"]
    two = page.post(path, files=[("photo", ("a.jpg", jpeg_with_place())), ("photo", ("b.jpg", jpeg_with_place()))])
    assert "one photo at a time" in two.json()["detail"]
    away = page.post("/api/walkarounds/w99/attachments", files={"photo": ("a.jpg", jpeg_with_place())})
    assert away.status_code == 404
    assert attachments_of(store, walkaround) == ()


def test_an_attachment_there_is_not_is_told(page: TestClient) -> None:
    assert page.get("/attachments/a1").status_code == 404


def test_who_is_not_signed_in_hears_and_sees_nothing(store: Store, bay: str, film: str, walkaround: str) -> None:
    away = TestClient(make_app(make_desk(store, Settings(), local=False)), base_url=HERE, follow_redirects=False)
    paths = (
        f"/audio/{bay}",
        f"/api/recordings/{film}/still?at_s=0",
        f"/walkarounds/{walkaround}/clip?recording=r1&start_s=0&end_s=1",
        "/attachments/a1",
    )
    answers = [away.get(path, headers={"sec-fetch-dest": "audio"}).status_code for path in paths]
    assert answers == [401] * len(paths)
    assert away.post(f"/api/walkarounds/{walkaround}/attachments", json={}).status_code == 401
