"""The page of what phones began and did not end: what came is made a list, and photos find their finding."""

import io
import os
import secrets
import time
from collections.abc import Iterator
from pathlib import Path

import av
import numpy as np
import pytest
from corrected import SAID, found
from whole_page import Page

from narrate.records.walkaround import Walkaround
from narrate.store.capture_ends import become_job
from narrate.store.captures import begin, begin_run, folder_of, keep_piece, read_capture
from narrate.store.jobs import claim, finish
from narrate.store.recordings import keep_recording

AT = "2026-11-27T09:00:00.000Z"
HTML = {"accept": "text/html,application/xhtml+xml"}


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    made = Page(tmp_path)
    yield made
    made.close()


@pytest.fixture
def key() -> str:
    return secrets.token_hex(16)


def picture() -> bytes:
    """A small photo."""
    file = io.BytesIO()
    with av.open(file, "w", format="image2pipe") as container:
        stream = container.add_stream("mjpeg")
        stream.width, stream.height, stream.pix_fmt = 32, 24, "yuvj420p"
        frame = av.VideoFrame.from_ndarray(np.full((24, 32, 3), 90, np.uint8), format="rgb24")
        for packet in (*stream.encode(frame.reformat(format="yuvj420p")), *stream.encode(None)):
            container.mux(packet)
    return file.getvalue()


def spoken(page: Page, key: str, *, count: int = 3) -> None:
    begin(page.store, key, visit_id=None, device="a phone", started_at=AT, who="Ana")
    begin_run(page.store, key, 0, mime="audio/webm", started_at=AT)
    for number in range(count):
        keep_piece(page.store, key, 0, number, b"piece", from_s=number * 30.0, to_s=number * 30.0 + 30.0, sha256=None)


def listed(page: Page, key: str, folder: Path, *, kept: tuple[tuple[int, int, int], ...] = ()) -> str:
    """The list that a capture has become, its findings spoken from the start on."""
    (folder / "spoken.webm").write_bytes(b"sound")
    recording = keep_recording(page.store, folder / "spoken.webm", name="spoken.webm", suffix=".webm")
    places = [{"run": 0, "from_s": 0.0, "starts_s": 0.0, "ends_s": 999.0}]
    told = {"recordings": [{"places": places, "gaps": []}], "kept": kept}
    become_job(page.store, key, [recording], name="spoken", total_s=90.0, pieces=3, told=told, who="Ana")
    job = claim(page.store, "bench")
    assert job is not None
    finish(page.store, job, timed(found(SAID)), "Ana")
    return read_capture(page.store, key).walkaround or ""


def timed(made: Walkaround) -> Walkaround:
    """As heard: each finding ten seconds after the one before."""
    findings = tuple(
        each.model_copy(
            update={
                "evidence": tuple(
                    piece.model_copy(update={"start_s": 10.0 * number, "end_s": 10.0 * number + 4.0})
                    for piece in each.evidence
                )
            }
        )
        for number, each in enumerate(made.findings)
    )
    return made.model_copy(update={"findings": findings})


def a_minute_later(page: Page, key: str) -> None:
    for file in folder_of(page.store, key).rglob("run-*/*"):
        os.utime(file, (time.time() - 60, time.time() - 60))


def put_photo(page: Page, key: str, id_: str, data: bytes, at_s: float) -> int:
    return page.client.put(f"/api/captures/{key}/photos/{id_}?run=0&at_s={at_s}", content=data).status_code


def test_what_was_begun_stands_there_until_it_is_ended(page: Page, key: str, tmp_path: Path) -> None:
    assert "Nothing waits here" in page.text("/captures")
    begin(page.store, secrets.token_hex(16), visit_id=None, device="", started_at=AT, who="Ana")
    assert "Nothing waits here" in page.text("/captures"), "nothing has come of it"
    spoken(page, key)
    told = page.text("/captures")
    assert "1:30" in told
    assert "It is coming in at this moment." in told
    assert f"/api/captures/{key}/close" not in told, "nobody ends what somebody is just recording"
    a_minute_later(page, key)
    told = page.text("/captures")
    assert f"/api/captures/{key}/close" in told
    assert 'href="/captures"' in page.text("/uploads")
    listed(page, key, tmp_path, kept=((0, 1, 2),))
    told = page.text("/captures")
    assert f"/api/captures/{key}/close" not in told
    assert "pieces 1 to 2 of run 0" in told


def test_what_cannot_be_closed_is_told_as_a_page(page: Page, key: str) -> None:
    spoken(page, key)
    answer = page.client.post(f"/api/captures/{key}/close", headers=HTML)
    assert answer.status_code == 422
    assert "Nothing in this recording can be heard; record it again." in answer.text
    assert read_capture(page.store, key).state == "open"


def test_a_photo_near_no_finding_is_put_where_somebody_says(page: Page, key: str, tmp_path: Path) -> None:
    spoken(page, key)
    assert put_photo(page, key, "p1", picture(), 700.0) == 200
    assert put_photo(page, key, "p1", picture(), 700.0) == 200, "sent twice it is there once"
    assert put_photo(page, key, "p2", b"no picture", 700.0) == 422
    id_ = listed(page, key, tmp_path)
    assert page.get(f"/api/captures/{key}")["photos"] == [{"id": "p1", "attached": False}]
    told = page.text("/captures")
    assert f"/captures/{key}/photos/p1.jpg" in told
    assert page.client.get(f"/captures/{key}/photos/p1.jpg").headers["content-type"] == "image/jpeg"
    finding = page.held(id_).walkaround.findings[1]
    assert f'value="{finding.id}"' in told
    gone = page.client.post(f"/captures/{key}/photos/p1", data={"finding": "f99"})
    assert (gone.status_code, "There is no finding f99 any more" in gone.text) == (404, True)
    answer = page.client.post(f"/captures/{key}/photos/p1", data={"finding": finding.id})
    assert (answer.status_code, answer.headers["location"]) == (303, "/captures")
    attached = page.held(id_).walkaround.findings[1].attachments
    assert page.client.get(f"/attachments/{attached[0]}").content[:3] == b"\xff\xd8\xff"
    assert page.get(f"/api/captures/{key}")["photos"] == [{"id": "p1", "attached": True}]
    assert page.client.get(f"/captures/{key}/photos/p1.jpg").status_code == 404


def test_a_photo_that_comes_late_finds_its_finding_at_once(page: Page, key: str, tmp_path: Path) -> None:
    spoken(page, key)
    id_ = listed(page, key, tmp_path)
    assert put_photo(page, key, "p1", picture(), 15.0) == 200
    assert page.get(f"/api/captures/{key}")["photos"] == [{"id": "p1", "attached": True}]
    counts = [len(each.attachments) for each in page.held(id_).walkaround.findings]
    assert counts == [0, 1, *[0] * (len(counts) - 2)]


@pytest.mark.parametrize("path", ["/captures", "/captures/{key}/photos/p1.jpg"])
def test_it_is_for_the_advisor(path: str, page: Page, key: str) -> None:
    spoken(page, key)
    page.sign_in_as("technician")
    assert page.client.get(path.format(key=key)).status_code == 403
    assert page.client.post(f"/api/captures/{key}/close").status_code == 403
    assert page.client.get(f"/api/captures/{key}").status_code == 200
