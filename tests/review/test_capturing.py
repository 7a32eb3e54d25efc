"""What a phone sends while somebody speaks: kept before it is acknowledged, joined without loss, and every refusal."""

import hashlib
import io
import secrets
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from starlette.testclient import TestClient

from narrate.hear.audio import decode
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.settings import Settings
from narrate.store.captures import folder_of, piece_file
from narrate.store.engine import Store, open_store
from narrate.store.jobs import list_jobs
from narrate.store.recordings import kept_recording, recording_file

HERE = "http://127.0.0.1:8000"
RATE = 48_000


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def page(store: Store) -> TestClient:
    return TestClient(make_app(make_desk(store, Settings())), base_url=HERE, follow_redirects=False)


@pytest.fixture
def key() -> str:
    return secrets.token_hex(16)


def recorder(seconds: float, pitch: float, form: str = "webm") -> list[bytes]:
    """What a recorder gives in about one piece a second: a header in the first, then clusters."""
    codec, options = {
        "webm": ("libopus", {"live": "1", "cluster_time_limit": "1000"}),
        "mp4": ("aac", {"movflags": "frag_keyframe+empty_moov+default_base_moof", "frag_duration": "1000000"}),
    }[form]
    file = io.BytesIO()
    with av.open(file, "w", format=form, options=options) as container:
        stream = container.add_stream(codec, rate=RATE, layout="mono")
        samples = 0.3 * np.sin(2 * np.pi * pitch * np.arange(int(seconds * RATE)) / RATE)
        frame = av.AudioFrame.from_ndarray(
            samples.astype(np.float32).reshape(1, -1), format="flt" if form == "webm" else "fltp", layout="mono"
        )
        frame.rate = RATE
        for packet in (*stream.encode(frame), *stream.encode(None)):
            container.mux(packet)
    data, count = file.getvalue(), int(seconds)
    size = len(data) // count
    return [data[n * size : (n + 1) * size if n < count - 1 else None] for n in range(count)]


def begin(page: TestClient, key: str) -> None:
    told = {"visit": None, "device": "a phone", "started_at": "2026-11-27T09:00:00.000Z"}
    assert page.put(f"/api/captures/{key}", json=told).status_code == 200


def send(
    page: TestClient, key: str, run: int, pieces: list[bytes], *, at: str, form: str = "webm", but: int = -1
) -> None:
    told = {"mime": f"audio/{form}", "started_at": at}
    assert page.put(f"/api/captures/{key}/runs/{run}", json=told).status_code == 200
    for number, piece in enumerate(pieces):
        if number != but:
            assert put_piece(page, key, run, number, piece).status_code == 200


def put_piece(page: TestClient, key: str, run: int, number: int, piece: bytes, sha256: str | None = None) -> Any:
    digest = sha256 or hashlib.sha256(piece).hexdigest()
    where = f"/api/captures/{key}/runs/{run}/pieces/{number}"
    return page.put(f"{where}?from_s={number}&to_s={number + 1}&sha256={digest}", content=piece)


def end(page: TestClient, key: str, **runs: int) -> Any:
    told = [{"run": int(run[1:]), "pieces": count} for run, count in runs.items()]
    return page.post(f"/api/captures/{key}/done", json={"runs": told})


def packets(source: Path | io.BytesIO) -> list[bytes]:
    with av.open(source if isinstance(source, io.BytesIO) else str(source)) as container:
        return [bytes(packet) for packet in container.demux(audio=0) if packet.size]


def pitch_at(samples: np.ndarray, at_s: float) -> float:
    """The loudest frequency in half a second."""
    part = samples[int(at_s * 16_000) : int((at_s + 0.5) * 16_000)]
    return float(np.argmax(np.abs(np.fft.rfft(part))) * 2)


def test_what_was_sent_in_pieces_is_one_recording(page: TestClient, store: Store, key: str) -> None:
    """Packet for packet what the recorder made, of the right length, and in line to be heard."""
    pieces = recorder(6, 440)
    begin(page, key)
    send(page, key, 0, pieces, at="2026-11-27T09:00:00.000Z")
    assert page.get(f"/api/captures/{key}").json()["safe_s"] == 6.0
    answer = end(page, key, r0=6)
    assert answer.status_code == 200
    (job,) = list_jobs(store)
    assert answer.json().items() >= {"state": "queued", "job": job.id, "gaps": [], "walkaround": None}.items()
    (sha256,) = job.recordings
    path = recording_file(store, sha256)
    assert packets(path) == packets(io.BytesIO(b"".join(pieces)))
    known = kept_recording(store, sha256)
    assert known is not None
    assert known.duration_s == pytest.approx(6.0, abs=0.1)
    assert known.name == "spoken 2026-11-27 09.00.webm"
    with av.open(str(path)) as container:
        assert container.duration / 1e6 == pytest.approx(6.0, abs=0.1)
    assert not list(folder_of(store, key).glob("run-*"))


@pytest.mark.parametrize("form", ["webm", "mp4"])
def test_a_gap_between_two_runs_is_marked(form: str, page: TestClient, store: Store, key: str) -> None:
    """A page that was closed for a while: both runs play one after the other, and the gap is told."""
    runs = [recorder(4, 400, form), recorder(3, 1000, form)]
    begin(page, key)
    send(page, key, 0, runs[0], at="2026-11-27T09:00:00.000Z", form=form)
    send(page, key, 1, runs[1], at="2026-11-27T09:01:04.000Z", form=form)
    answer = end(page, key, r0=4, r1=3).json()
    assert [gap["missing_s"] for gap in answer["gaps"]] == [60.0]
    assert answer["gaps"][0]["at_s"] == pytest.approx(4.0, abs=0.1)
    (job,) = list_jobs(store)
    path = recording_file(store, job.recordings[0])
    assert packets(path) == [each for run in runs for each in packets(io.BytesIO(b"".join(run)))]
    samples = decode(path, min_duration_s=0.1, max_duration_s=60.0).samples
    assert samples.size / 16_000 == pytest.approx(7.0, abs=0.2)
    assert pitch_at(samples, 2.0) == pytest.approx(400, abs=10)
    assert pitch_at(samples, 5.5) == pytest.approx(1000, abs=10)


def test_runs_of_two_kinds_become_two_recordings_of_one_walk_round(page: TestClient, store: Store, key: str) -> None:
    """A phone that changed what it records with; nothing is encoded anew."""
    begin(page, key)
    send(page, key, 0, recorder(2, 400), at="2026-11-27T09:00:00.000Z")
    send(page, key, 1, recorder(2, 500, "mp4"), at="2026-11-27T09:01:00.000Z", form="mp4")
    assert end(page, key, r0=2, r1=2).status_code == 200
    (job,) = list_jobs(store)
    assert [recording_file(store, each).suffix for each in job.recordings] == [".webm", ".m4a"]


def test_nothing_is_joined_while_a_piece_is_missing(page: TestClient, store: Store, key: str) -> None:
    begin(page, key)
    pieces = recorder(5, 400)
    send(page, key, 0, pieces, at="2026-11-27T09:00:00.000Z", but=3)
    answer = end(page, key, r0=5)
    assert (answer.status_code, answer.json()["missing"]) == (409, [[0, 3]])
    assert list_jobs(store) == []
    assert put_piece(page, key, 0, 3, pieces[3]).json() == {"safe_s": 5.0}
    assert end(page, key, r0=5).status_code == 200
    assert end(page, key, r0=5).status_code == 200, "asked twice it is in line once"
    assert len(list_jobs(store)) == 1


def test_what_an_advisor_closes_has_its_hole_told(page: TestClient, store: Store, key: str) -> None:
    """The phone never came back: what came before the hole, and after it from the next place that can be decoded."""
    begin(page, key)
    send(page, key, 0, recorder(8, 400), at="2026-11-27T09:00:00.000Z", but=3)
    assert "0:07" in page.get("/captures").text
    answer = page.post(f"/api/captures/{key}/close").json()
    (gap,) = answer["gaps"]
    assert gap["why"] == "These seconds never came from the phone."
    assert 1.0 <= gap["missing_s"] <= 2.2, "up to a second more is lost until a decoder can begin again"
    (job,) = list_jobs(store)
    heard = kept_recording(store, job.recordings[0])
    assert heard is not None
    assert 5.5 < (heard.duration_s or 0.0) <= 7.5
    assert "Nothing waits here" in page.get("/captures").text


def test_sent_twice_is_kept_once_and_other_bytes_are_refused(page: TestClient, store: Store, key: str) -> None:
    begin(page, key)
    begin(page, key)
    send(page, key, 0, [b"one", b"two"], at="2026-11-27T09:00:00.000Z")
    assert put_piece(page, key, 0, 0, b"one").json() == {"safe_s": 2.0}
    other = put_piece(page, key, 0, 0, b"other")
    assert (other.status_code, other.json()["detail"]) == (
        409,
        "Another piece is here under this number; begin a new recording.",
    )
    damaged = put_piece(page, key, 0, 2, b"three", sha256="0" * 64)
    assert (damaged.status_code, damaged.json()["detail"]) == (
        422,
        "This piece was damaged on its way; send it again.",
    )
    assert piece_file(store, key, 0, 0).read_bytes() == b"one"
    assert (
        page.put(f"/api/captures/{secrets.token_hex(16)}/runs/0", json={"mime": "", "started_at": ""}).status_code
        == 404
    )
    assert put_piece(page, key, 7, 0, b"one").status_code == 404
    assert page.put("/api/captures/not-a-key", json={"started_at": ""}).status_code == 422
    assert put_piece(page, key, 0, 3, b"x" * 6_000_000).status_code == 413


def test_what_cannot_be_heard_keeps_its_pieces(page: TestClient, store: Store, key: str) -> None:
    begin(page, key)
    send(page, key, 0, [b"no", b"sound"], at="2026-11-27T09:00:00.000Z")
    answer = end(page, key, r0=2)
    assert answer.status_code == 422
    assert answer.json()["detail"] == "Nothing in this recording can be heard; record it again."
    assert piece_file(store, key, 0, 1).read_bytes() == b"sound"


def test_after_its_end_nothing_is_added(page: TestClient, key: str) -> None:
    begin(page, key)
    send(page, key, 0, recorder(2, 400), at="2026-11-27T09:00:00.000Z")
    assert end(page, key, r0=2).status_code == 200
    late = put_piece(page, key, 0, 2, b"late")
    assert (late.status_code, late.json()["detail"]) == (409, "This recording was ended; begin a new recording.")


def test_marks_are_kept_and_changed(page: TestClient, key: str) -> None:
    begin(page, key)
    mark = {"id": "m-1", "what": "take_back", "run": 0, "at_s": 4.5, "end_s": 5.5, "said": "so"}
    assert page.put(f"/api/captures/{key}/marks/m-1", json=mark).status_code == 200
    assert page.put(f"/api/captures/{key}/marks/m-1", json={**mark, "undone": True}).status_code == 200
    (kept,) = page.get(f"/api/captures/{key}").json()["marks"]
    assert kept.items() >= {**mark, "undone": True}.items()
    assert page.put(f"/api/captures/{key}/marks/m-2", json={**mark, "what": "sing"}).status_code == 422
