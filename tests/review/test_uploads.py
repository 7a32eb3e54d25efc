"""Recordings in: kept as they are, queued once, and every refusal one sentence."""

import hashlib
import io
import wave
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from sqlalchemy import update
from starlette.testclient import TestClient

from narrate.records.order import Customer, Order, OrderVehicle
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.review import taking
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.review.receiving import LONGEST_FIELD, LONGEST_NAME, shown_name
from narrate.settings import Settings, project_folder
from narrate.store import tables
from narrate.store.engine import Store, open_store
from narrate.store.jobs import claim, fail, finish, list_jobs, read_job
from narrate.store.orders import add_order
from narrate.store.recordings import kept_recording, recording_file

HERE = "http://127.0.0.1:8000"
PAGE = {"accept": "text/html,application/xhtml+xml"}
Files = list[tuple[str, tuple[str, bytes]]]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def page(store: Store) -> TestClient:
    desk = make_desk(store, Settings(max_duration_s=20.0))
    return TestClient(make_app(desk), base_url=HERE, follow_redirects=False)


def sound(seconds: float = 2.0, pitch: int = 300) -> bytes:
    """A tone as a WAV file."""
    samples = 9000 * np.sin(2 * np.pi * pitch * np.arange(int(seconds * 16_000)) / 16_000)
    file = io.BytesIO()
    with wave.open(file, "wb") as writer:
        writer.setparams((1, 2, 16_000, 0, "NONE", ""))
        writer.writeframes(samples.astype("<i2").tobytes())
    return file.getvalue()


def sent(*files: tuple[str, bytes]) -> Files:
    return [("recording", file) for file in files]


def incoming(store: Store) -> list[Path]:
    return list((store.folder / "incoming").iterdir())


def heard(store: Store) -> str:
    """Let the job in line become a walkaround."""
    job = claim(store, "bench")
    assert job is not None
    kept = tuple(Recording(id=f"r{n}", name="bay.wav", sha256=sha) for n, sha in enumerate(job.recordings, 1))
    made = Walkaround(made_by=MadeBy(program="p", lexicon="l", settings="s"), recordings=kept)
    walkaround = finish(store, job, made, "Ana")
    assert walkaround is not None
    return walkaround


def test_a_recording_is_kept_and_waits(page: TestClient, store: Store) -> None:
    data = sound()
    answer = page.post("/api/recordings", files=sent(("bay 2.wav", data)))
    assert answer.status_code == 201
    (taken,) = answer.json()["taken"]
    assert taken["said"] == "bay 2.wav is in line to be heard."
    assert taken["sha256"] == hashlib.sha256(data).hexdigest()
    assert recording_file(store, taken["sha256"]).read_bytes() == data
    job = read_job(store, taken["job"])
    assert (job.name, job.state, job.recordings, job.added_by) == (
        "bay 2.wav",
        "waiting",
        (taken["sha256"],),
        "this computer",
    )
    assert job.total_s == pytest.approx(2.0)
    assert incoming(store) == []


def test_each_file_is_a_walkround_unless_they_go_together(page: TestClient, store: Store) -> None:
    files = sent(("a.wav", sound(1)), ("b.wav", sound(2)))
    assert len(page.post("/api/recordings", files=files).json()["taken"]) == 2
    assert [job.name for job in list_jobs(store)] == ["b.wav", "a.wav"]
    others = sent(("c.wav", sound(3)), ("d.wav", sound(4)), ("c again.wav", sound(3)))
    page.post("/api/recordings", files=others, data={"together": "yes"})
    together = list_jobs(store)[0]
    assert together.name == "c.wav and 1 more"
    assert together.total_s == pytest.approx(7.0)
    assert len(together.recordings) == 2


def test_a_sample_recording_is_taken_as_what_it_is(page: TestClient, store: Store) -> None:
    """A browser's file without a suffix gets the one of its container, so that it can be played."""
    data = (project_folder("sample_audio") / "compact_brakes_tires.ogg").read_bytes()
    long = TestClient(make_app(make_desk(store, Settings())), base_url=HERE)
    taken = long.post("/api/recordings", files=sent(("blob.html", data))).json()["taken"][0]
    kept = kept_recording(store, taken["sha256"])
    assert kept is not None
    assert (kept.suffix, kept.video, kept.name) == (".ogg", False, "blob.html")
    assert long.get(f"/audio/{taken['sha256']}").headers["content-type"] == "audio/ogg"


@pytest.mark.parametrize(
    ("name", "data", "status", "says"),
    [
        ("letter.wav", b"Dear customer, " * 99, 415, "letter.wav is not a recording that can be read"),
        ("empty.wav", b"", 415, "empty.wav is empty; record it again"),
        ("long.wav", sound(25), 422, "long.wav lasts 0:25, longer than the limit of 0:20; split it"),
        ("short.wav", sound(0.1), 422, "short.wav lasts 0.10 s, in which nothing can be said"),
        ("list.m3u8", b"#EXTM3U\n#EXTINF:1,\nfile:///etc/passwd\n", 415, "list.m3u8 is not a recording"),
    ],
)
def test_what_cannot_be_used_is_refused(
    page: TestClient, store: Store, name: str, data: bytes, status: int, says: str
) -> None:
    answer = page.post("/api/recordings", files=sent((name, data)))
    assert answer.status_code == status
    assert says in answer.json()["detail"]
    assert list_jobs(store) == []
    assert incoming(store) == []


def test_a_file_too_large_is_refused_and_let_go(
    page: TestClient, store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("narrate.review.uploads.MOST_BYTES", 50_000)
    monkeypatch.setattr(taking, "MOST_BYTES", 50_000)
    answer = page.post("/api/recordings", files=sent(("big.wav", sound(3)), ("small.wav", sound(1))))
    assert answer.status_code == 201
    assert [each["name"] for each in answer.json()["taken"]] == ["small.wav"]
    (refused,) = answer.json()["refused"]
    assert (refused["status"], refused["name"]) == (413, "big.wav")
    assert "larger than" in refused["said"]


def test_one_bad_file_holds_up_only_those_it_goes_together_with(page: TestClient, store: Store) -> None:
    files = sent(("letter.wav", b"Dear customer"), ("good.wav", sound()))
    together = page.post("/api/recordings", files=files, data={"together": "on"})
    assert together.status_code == 415
    assert [each["name"] for each in together.json()["refused"]] == ["letter.wav", "good.wav"]
    assert "It waits for letter.wav" in together.json()["refused"][1]["said"]
    assert list_jobs(store) == []
    assert page.post("/api/recordings", files=files).status_code == 201
    assert [job.name for job in list_jobs(store)] == ["good.wav"]


def test_a_known_recording_is_told_and_not_heard_twice(page: TestClient, store: Store) -> None:
    files = sent(("bay.wav", sound()))
    first = page.post("/api/recordings", files=files).json()["taken"][0]
    waiting = page.post("/api/recordings", files=files).json()["taken"][0]
    assert (waiting["job"], waiting["said"]) == (first["job"], "bay.wav is in line already.")
    walkaround = heard(store)
    known = page.post("/api/recordings", files=sent(("copy.wav", sound())))
    assert known.status_code == 200
    assert known.json()["taken"][0]["walkaround"] == walkaround
    assert known.json()["taken"][0]["said"] == f"copy.wav was heard before: it is in {walkaround}."
    assert len(list_jobs(store)) == 1
    again = page.post("/api/recordings", files=files, data={"again": "yes"}).json()["taken"][0]
    assert again["job"] != first["job"]
    assert len(list_jobs(store)) == 2


def test_a_recording_goes_to_its_order(page: TestClient, store: Store) -> None:
    visit = add_order(store, Order(number="1042"), who="Ben")
    taken = page.post("/api/recordings", files=sent(("bay.wav", sound())), data={"visit": str(visit)}).json()["taken"]
    assert read_job(store, taken[0]["job"]).visit_id == visit


@pytest.mark.parametrize(("visit", "status"), [("99", 404), ("x", 422), ("9" * 30, 422)])
def test_an_order_there_is_not_is_refused_before_anything_is_kept(
    page: TestClient, store: Store, visit: str, status: int
) -> None:
    answer = page.post("/api/recordings", files=sent(("bay.wav", sound())), data={"visit": visit})
    assert answer.status_code == status
    assert "order" in answer.json()["detail"]
    assert list((store.folder / "audio").rglob("*.wav")) == []


def test_nothing_sent_is_told(page: TestClient) -> None:
    answer = page.post("/api/recordings", files=[("recording", ("", b""))], data={"together": "yes"})
    assert answer.status_code == 422
    assert "No file was sent" in answer.json()["detail"]


FORM = "multipart/form-data; boundary=x"
PART = b'--x\r\nContent-Disposition: form-data; name="a"'


@pytest.mark.parametrize(
    ("kind", "body", "status"),
    [
        ("application/json", b"{}", 415),
        ("multipart/form-data", b"", 415),
        (FORM, b"no form at all", 400),
        (FORM, PART + b"\r\n\r\n" + b"a" * 20_000, 413),
        (FORM, PART + b'; filename="a"\r\n\r\nab', 400),
    ],
)
def test_what_is_no_form_is_refused(page: TestClient, store: Store, kind: str, body: bytes, status: int) -> None:
    assert LONGEST_FIELD < 20_000
    answer = page.post("/api/recordings", content=body, headers={"content-type": kind})
    assert answer.status_code == status
    assert answer.json()["detail"].endswith(".")
    assert incoming(store) == []


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        ("../../etc/passwd", "passwd"),
        ("C:\\shop\\bay 2.m4a", "bay 2.m4a"),
        ("bay\x00\x1b[31m\u202e2.wav", "bay[31m2.wav"),
        ("Müller Vorderachse.wav", "Müller Vorderachse.wav"),
        ("..", ".."),
        ("\n", "recording"),
        ("a" * 300 + ".wav", "a" * (LONGEST_NAME - 4) + ".wav"),
    ],
)
def test_a_name_is_for_people_only(raw: str, shown: str, page: TestClient, store: Store) -> None:
    assert shown_name(raw) == shown


def test_a_name_never_becomes_a_path(page: TestClient, store: Store) -> None:
    taken = page.post("/api/recordings", files=sent(("../../../evil.wav", sound()))).json()["taken"][0]
    assert taken["name"] == "evil.wav"
    assert recording_file(store, taken["sha256"]).name == f"{taken['sha256']}.wav"
    assert not list(store.folder.parent.rglob("evil.wav"))


def test_a_disk_that_is_full_is_told(page: TestClient, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("narrate.review.receiving._Reading.data", full)
    answer = page.post("/api/recordings", files=sent(("bay.wav", sound())))
    assert answer.status_code == 507
    assert "No space left on device" in answer.json()["detail"]
    assert incoming(store) == []


def test_jobs_are_listed_stopped_and_tried_again(page: TestClient, store: Store) -> None:
    number = page.post("/api/recordings", files=sent(("bay.wav", sound()))).json()["taken"][0]["job"]
    (job,) = page.get("/api/jobs").json()["jobs"]
    assert job.items() >= {"id": number, "name": "bay.wav", "state": "waiting", "done_s": 0.0, "why": ""}.items()
    assert not {"worker", "lease_until"} & job.keys()
    assert page.post(f"/api/jobs/{number}/stop").json()["state"] == "stopped"
    assert page.post(f"/api/jobs/{number}/stop").status_code == 422
    assert page.post(f"/api/jobs/{number}/retry").json()["state"] == "waiting"
    assert page.post("/api/jobs/99/stop").status_code == 404
    assert page.post("/api/jobs/99/retry").json()["detail"].startswith("There is no job 99")


def test_what_is_left_is_told_with_the_time_it_takes(page: TestClient, store: Store) -> None:
    assert page.get("/api/jobs").json()["far"] == ""
    page.post("/api/recordings", files=sent(("bay.wav", sound())))
    assert "1 recording is still to be heard" in page.get("/uploads").text
    heard(store)
    with store.writing() as connection:
        connection.execute(update(tables.job).values(took_s=300.0, total_s=600.0))
    number = page.post("/api/recordings", files=sent(("late.wav", sound(pitch=500)))).json()["taken"][0]["job"]
    with store.writing() as connection:
        connection.execute(update(tables.job).where(tables.job.c.id == number).values(total_s=1200.0))
    far = page.get("/api/jobs").json()["far"]
    assert far == "1 recording is still to be heard, 20:00 of sound: about 10 minutes more."
    assert far in page.get("/uploads/jobs").text


def test_the_page_works_without_a_script(page: TestClient, store: Store) -> None:
    visit = add_order(
        store,
        Order(number="1042", vehicle=OrderVehicle(make="Ford"), customer=Customer(name="<Anders & Co>")),
        who="Ben",
    )
    empty = page.get(f"/uploads?visit={visit}").text
    assert "No recordings yet" in empty
    assert f'<option value="{visit}" selected>1042 Ford &lt;Anders &amp; Co&gt;</option>' in empty
    assert 'accept="audio/*,video/*" multiple' in empty
    assert "capture" in empty
    assert (
        page.post("/api/recordings", files=sent(("bay.wav", sound())), headers=PAGE).headers["location"] == "/uploads"
    )
    (job,) = list_jobs(store)
    waiting = page.get("/uploads").text
    assert f'action="/api/jobs/{job.id}/stop"' in waiting
    assert page.post(f"/api/jobs/{job.id}/stop", headers=PAGE).status_code == 303
    assert f'action="/api/jobs/{job.id}/retry"' in page.get("/uploads/jobs").text
    page.post(f"/api/jobs/{job.id}/retry", headers=PAGE)
    walkaround = heard(store)
    assert f'href="/walkarounds/{walkaround}"' in page.get("/uploads").text


def test_the_page_says_what_was_refused_and_why_a_job_failed(page: TestClient, store: Store) -> None:
    refused = page.post("/api/recordings", files=sent(("<b>.wav", b"Dear customer")), headers=PAGE)
    assert refused.status_code == 415
    assert "&lt;b&gt;.wav is not a recording that can be read" in refused.text
    page.post("/api/recordings", files=sent(("bay.wav", sound())))
    job = claim(store, "bench")
    assert job is not None
    working = page.get("/uploads").text
    assert "<progress" in working
    fail(store, job.id, "bench", "bay.wav is damaged; record it again.")
    failed = page.get("/uploads").text
    assert "bay.wav is damaged; record it again." in failed
    assert "try again" in failed


def test_an_order_that_has_recordings_can_still_be_chosen(page: TestClient, store: Store) -> None:
    visit = add_order(store, Order(number="1042"), who="Ben")
    page.post("/api/recordings", files=sent(("bay.wav", sound())), data={"visit": str(visit)})
    heard(store)
    assert f'value="{visit}" selected' in page.get(f"/uploads?visit={visit}").text
    assert f'value="{visit}"' not in page.get("/uploads").text


def test_another_site_cannot_send_recordings(page: TestClient, store: Store) -> None:
    answer = page.post("/api/recordings", files=sent(("bay.wav", sound())), headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403
    assert list_jobs(store) == []


def test_who_is_not_signed_in_sends_nothing(store: Store) -> None:
    away = TestClient(make_app(make_desk(store, Settings(), local=False)), base_url=HERE, follow_redirects=False)
    routes: list[tuple[str, str]] = [
        ("POST", "/api/recordings"), ("GET", "/api/jobs"), ("POST", "/api/jobs/1/stop"), ("POST", "/api/jobs/1/retry"),
        ("GET", "/api/jobs/stream"),
    ]  # fmt: skip
    answers: list[Any] = [away.request(method, path) for method, path in routes]
    assert [answer.status_code for answer in answers] == [401] * len(routes)
    assert away.get("/uploads").status_code == 303
