"""The application as a whole: errors as one sentence for people and scripts, headers, logs without what was said."""

import logging
import re
import socket
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import httpx2
import pytest
import uvicorn
from corrected import SAID
from fastapi.routing import APIRoute
from sqlalchemy.exc import IntegrityError
from whole_page import Page

from narrate.errors import AudioError, ConflictError, MissingError, ModelError, NarrateError, StoreError, UsageError
from narrate.review.app import PAGES, make_app, say_when
from narrate.review.refusals import status_of
from narrate.store.tables import heard

SCRIPT = {"sec-fetch-dest": "empty"}


@pytest.fixture
def page(tmp_path: Path) -> Iterator[Page]:
    page = Page(tmp_path)
    yield page
    page.close()


@pytest.mark.parametrize("path", ["/walkarounds/w9", "/nowhere", "/walkarounds/w9/files/findings.csv", "/static/no.js"])
def test_people_are_refused_with_a_page(page: Page, path: str) -> None:
    answer = page.client.get(path)
    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/html")
    [sentence] = re.findall('role="alert">([^<]*)<', answer.text)
    assert sentence.endswith(".")
    assert len(sentence.split()) > 4
    assert 'href="/"' in answer.text


@pytest.mark.parametrize("path", ["/walkarounds/w9", "/nowhere", "/api/walkarounds/w9", "/api/nowhere"])
def test_scripts_are_refused_with_json(page: Page, path: str) -> None:
    answer = page.client.get(path, headers=SCRIPT)
    assert answer.status_code == 404
    sentence = answer.json()["detail"]
    assert sentence.endswith(".")
    assert len(sentence.split()) > 4


def test_a_form_is_refused_with_a_page_and_a_script_with_json(page: Page) -> None:
    id_ = page.add()
    form = page.client.post(f"/walkarounds/{id_}/join", data={"other": "w9"})
    assert form.status_code == 404
    assert "That did not work" in form.text
    assert "w9" in page.refused("/api/walkarounds/w9/undo", 404)


def test_the_wrong_method_is_refused_in_a_sentence(page: Page) -> None:
    answer = page.client.delete("/")
    assert answer.status_code == 405
    assert answer.json()["detail"].endswith(".")
    assert "allow" in answer.headers


@pytest.mark.parametrize(
    ("error", "status"),
    [
        (MissingError("x"), 404),
        (ConflictError("x"), 409),
        (UsageError("x"), 422),
        (AudioError("x"), 422),
        (StoreError("x"), 503),
        (ModelError("x"), 500),
        (NarrateError("x"), 500),
    ],
)
def test_each_kind_of_error_has_its_status(error: NarrateError, status: int) -> None:
    assert status_of(error) == status


def test_what_narrate_did_not_foresee_is_no_refusal(page: Page, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        message = "a bug"
        raise RuntimeError(message)

    monkeypatch.setattr("narrate.review.home.find_walkarounds", broken)
    with pytest.raises(RuntimeError, match="a bug"):
        page.client.get("/")


def test_a_fault_of_the_store_does_not_repeat_what_was_to_be_kept(page: Page) -> None:
    with pytest.raises(IntegrityError) as fault, page.store.writing() as connection:
        connection.execute(heard.insert().values(walkaround_id=99, recording_id="r1", record=SAID))
    assert "INSERT INTO heard" in str(fault.value)
    assert "grinds" not in str(fault.value)


@pytest.mark.parametrize("path", ["/", "/nowhere", "/api/units", "/static/base.css", "/static/walkaround.js"])
def test_every_answer_bears_the_guards_headers(page: Page, path: str) -> None:
    headers = page.client.get(path).headers
    assert "default-src 'none'" in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"


def test_a_foreign_name_is_refused(page: Page) -> None:
    assert page.client.get("/", headers={"host": "evil.example"}).status_code == 400


def test_another_sites_page_changes_nothing(page: Page) -> None:
    id_ = page.add()
    headers = {"sec-fetch-site": "cross-site"}
    asked = {"do": "confirm", "findings": ["f1"]}
    assert page.client.post(f"/api/walkarounds/{id_}/changes", json=asked, headers=headers).status_code == 403
    assert page.held(id_).walkaround.findings[0].review.state == "unreviewed"


def test_no_documentation_pages_of_the_framework(page: Page) -> None:
    for path in ("/docs", "/redoc", "/openapi.json"):
        assert page.client.get(path).status_code == 404


def test_no_two_pages_answer_at_one_address() -> None:
    places = [
        (method, re.sub(r"\{[^}]*\}", "{}", route.path))
        for page in PAGES
        for route in page.router.routes
        if isinstance(route, APIRoute)
        for method in route.methods
    ]
    assert len(places) > 30
    assert len(places) == len(set(places))


def test_times_are_said_to_the_minute() -> None:
    assert say_when("2026-11-27T09:50:00.123Z") == "2026-11-27 09:50"
    assert say_when("2026-11-27") == "2026-11-27"
    assert say_when("–") == "–"


def test_no_log_holds_what_was_said_or_whose_it_is(page: Page, caplog: pytest.LogCaptureFixture) -> None:
    """Even at the chattiest level, over a real server that logs what it is asked."""
    caplog.set_level(logging.DEBUG)
    for name in ("uvicorn", "uvicorn.error", "uvicorn.access", "asyncio"):
        caplog.set_level(logging.DEBUG, logger=name)
    # One step further it would show each row it reads.
    caplog.set_level(logging.INFO, logger="sqlalchemy")
    id_ = page.add(plate="7ABC123", technician="Samuel Secret")
    listening = socket.create_server(("127.0.0.1", 0))
    config = uvicorn.Config(make_app(page.desk), log_config=None, access_log=False)
    server = uvicorn.Server(config)
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    try:
        while not server.started:
            time.sleep(0.01)
        here = f"http://127.0.0.1:{listening.getsockname()[1]}"
        with httpx2.Client(base_url=here, timeout=30) as browser:
            for path in ("/", "/?q=7ABC123", f"/walkarounds/{id_}", f"/api/walkarounds/{id_}/words", "/walkarounds/w9"):
                browser.get(path)
            for asked in ({"do": "confirm", "findings": ["f1"]}, {"do": "drop", "finding": "f2", "why": "my secret"}):
                browser.post(f"/api/walkarounds/{id_}/changes", json=asked)
            browser.post(f"/api/walkarounds/{id_}/changes", json={"do": "locations", "finding": "f1", "to": [SAID]})
            browser.post(f"/api/walkarounds/{id_}/undo")
    finally:
        server.should_exit = True
        thread.join()
        listening.close()
    ours = [r for r in caplog.records if not r.name.startswith(("httpx2", "httpcore"))]
    logged = " ".join(record.getMessage() for record in ours).lower()
    assert "uvicorn" in {record.name.split(".")[0] for record in ours}, "the server's log was listened to"
    for told in ("7abc123", "secret", "grinds", "leaking", "serpentine", "brake"):
        assert told not in logged
