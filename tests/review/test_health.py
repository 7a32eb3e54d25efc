"""`/healthz` is for anybody, `/metrics` for an owner or for this very computer."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from argon2 import PasswordHasher
from starlette.testclient import TestClient

from narrate.review import health
from narrate.review.app import make_app
from narrate.review.desk import Desk, make_desk
from narrate.settings import Settings
from narrate.store import people
from narrate.store.engine import Store, open_store
from narrate.store.jobs import queue_job
from narrate.store.people import add_person
from narrate.store.signed_in import sign_in

HERE = "http://127.0.0.1:8000"
AWAY = ("10.0.0.7", 50000)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def desk(store: Store) -> Desk:
    return make_desk(store, Settings(), local=False)


def client(desk: Desk, asker: tuple[str, int]) -> TestClient:
    return TestClient(make_app(desk), base_url=HERE, client=asker, follow_redirects=False)


def test_anybody_may_ask_whether_it_works(desk: Desk) -> None:
    answer = client(desk, AWAY).get("/healthz")
    assert (answer.status_code, answer.json()) == (200, {"ok": True, "store": True, "queue": True})


def test_a_store_that_cannot_be_read_is_told(desk: Desk, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    (tmp_path / "data" / "narrate.sqlite3").rename(tmp_path / "away")
    desk.store.close()
    (tmp_path / "data" / "narrate.sqlite3").mkdir()
    answer = client(desk, AWAY).get("/healthz")
    assert (answer.status_code, answer.json()) == (503, {"ok": False, "store": False})


def test_a_queue_that_stands_still_is_told_but_the_page_works(desk: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    waiting = health.queue_state(desk.store)
    monkeypatch.setattr(health, "queue_state", lambda _: replace(waiting, oldest_waiting_s=9000.0))
    answer = client(desk, AWAY).get("/healthz")
    assert (answer.status_code, answer.json()["queue"]) == (200, False)


def test_figures_are_for_this_computer(desk: Desk) -> None:
    queue_job(desk.store, [], name="Okafor.ogg", who="Dana", total_s=60.0)
    answer = client(desk, ("127.0.0.1", 50000)).get("/metrics")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == "text/plain; version=0.0.4; charset=utf-8"
    assert 'narrate_jobs{state="waiting"} 1\n' in answer.text
    assert "Okafor" not in answer.text


@pytest.mark.parametrize(("role", "status"), [("owner", 200), ("advisor", 403), ("technician", 403), (None, 401)])
def test_from_elsewhere_only_an_owner_gets_them(
    desk: Desk, role: people.Role | None, status: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(people, "PasswordHasher", lambda: quick)
    add_person(desk.store, name="Ann", role="owner", who="Ann", pin="4711")
    page = client(desk, AWAY)
    if role:
        person = add_person(desk.store, name="Ben", role=role, who="Ann", pin="4712")
        page.cookies.set("narrate_session", sign_in(desk.store, person, "4712", "phone"))
    answer = page.get("/metrics", headers={"sec-fetch-dest": "empty"})
    assert answer.status_code == status
    assert ("narrate_jobs" in answer.text) == (status == 200)
