"""Signing in, each refusal, and letting in a second device: over a tiny application with narrate's own pages."""

import io
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import pytest
import segno
from argon2 import PasswordHasher
from fastapi import FastAPI, WebSocket
from starlette.testclient import TestClient, WebSocketDenialResponse

from narrate.errors import UsageError
from narrate.review import signin_routes
from narrate.review.desk import make_desk
from narrate.review.guards import Guards, hosts_of
from narrate.review.signin import COOKIE, Person, check_may_open, needs
from narrate.settings import Settings
from narrate.store import people
from narrate.store.engine import Store, open_store
from narrate.store.events import read_events
from narrate.store.people import add_person, read_person, set_pin
from narrate.store.signed_in import TRIES, new_pairing

HERE = "http://127.0.0.1:8000"
SECURE = "https://192.168.1.20:8443"
PIN = "482915"


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(people, "PasswordHasher", lambda: quick)
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


def device(store: Store, *, local: bool = False, url: str = SECURE) -> TestClient:
    """A browser of its own at a page over the store."""
    app = FastAPI()
    app.include_router(signin_routes.router)
    app.state.desk = make_desk(store, Settings(), local=local)

    @app.get("/orders", dependencies=[needs("technician")])
    @app.post("/orders", dependencies=[needs("technician")])
    def orders() -> str:
        return "orders"

    @app.get("/api/me")
    def me(person: Annotated[Person, needs("advisor")]) -> dict[str, object]:
        return {"name": person.name, "role": person.role, "local": person.local}

    @app.get("/shop", dependencies=[needs("owner")])
    def shop() -> str:
        return "shop"

    @app.websocket("/live", dependencies=[needs("technician")])
    async def live(socket: WebSocket) -> None:
        await socket.accept()
        await socket.send_text("hello")
        await socket.close()

    guarded = Guards(app, hosts=hosts_of("127.0.0.1" if local else "0.0.0.0"))
    return TestClient(guarded, base_url=url, follow_redirects=False)


def crew(store: Store) -> dict[str, int]:
    """One person a role, all with the same PIN."""
    roles = ("owner", "advisor", "technician")
    return {role: add_person(store, name=role.title(), role=role, who="test", pin=PIN) for role in roles}


def signed_in(store: Store, person: int) -> TestClient:
    at = device(store)
    answer = at.post("/sign-in", data={"person": person, "pin": PIN})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    return at


def test_alone_on_this_computer_nobody_signs_in(store: Store) -> None:
    at = device(store, local=True, url=HERE)
    add_person(store, name="Ada", role="owner", who="test")
    assert at.get("/api/me").json() == {"name": "this computer", "role": "owner", "local": True}
    assert at.get("/shop").json() == "shop"
    answer = at.get("/sign-in", params={"then": "/shop"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/shop")


def test_from_the_first_pin_on_everybody_signs_in(store: Store) -> None:
    owner = add_person(store, name="Ada", role="owner", who="test")
    at = device(store, local=True, url=HERE)
    assert at.get("/orders").status_code == 200
    set_pin(store, owner, PIN, who="test")
    assert at.get("/orders").headers["location"] == "/sign-in?then=/orders"
    at.post("/sign-in", data={"person": owner, "pin": PIN})
    assert at.get("/api/me").json() == {"name": "Ada", "role": "owner", "local": False}


def test_pages_lead_to_signing_in_and_back(store: Store) -> None:
    owner = crew(store)["owner"]
    at = device(store)
    answer = at.get("/orders?query=a b&page=2")
    assert answer.status_code == 303
    form = at.get(answer.headers["location"])
    assert form.status_code == 200
    then = re.search(r'name="then" value="([^"]*)"', form.text)
    assert then is not None
    assert then[1] == "/orders?query=a%20b&amp;page=2"
    back = at.post("/sign-in", data={"person": owner, "pin": PIN, "then": "/orders?query=a%20b&page=2"})
    assert back.headers["location"] == "/orders?query=a%20b&page=2"
    assert at.get(back.headers["location"]).status_code == 200


def test_what_is_not_looked_at_gets_a_sentence(store: Store) -> None:
    crew(store)
    at = device(store)
    for answer in (at.get("/api/me"), at.get("/orders", headers={"sec-fetch-dest": "audio"})):
        assert answer.status_code == 401
        assert answer.json() == {"detail": "You are not signed in; sign in at /sign-in and do it again."}
    sent = at.post("/orders")
    assert (sent.status_code, sent.headers["location"]) == (303, "/sign-in")
    with (
        pytest.raises(WebSocketDenialResponse) as refused,
        at.websocket_connect("wss://192.168.1.20:8443/live"),
    ):
        pass
    assert refused.value.status_code == 401


def test_a_live_connection_knows_who_is_signed_in(store: Store) -> None:
    at = signed_in(store, crew(store)["technician"])
    with at.websocket_connect("wss://192.168.1.20:8443/live") as socket:
        assert socket.receive_text() == "hello"


@pytest.mark.parametrize(
    ("role", "path", "status"),
    [
        ("technician", "/orders", 200),
        ("technician", "/api/me", 403),
        ("technician", "/shop", 403),
        ("advisor", "/orders", 200),
        ("advisor", "/api/me", 200),
        ("advisor", "/shop", 403),
        ("owner", "/orders", 200),
        ("owner", "/api/me", 200),
        ("owner", "/shop", 200),
        ("advisor", "/people/1/pair", 403),
        ("advisor", "/people/1/pair.svg", 403),
    ],
)
def test_a_role_may_do_what_lesser_roles_may(store: Store, role: str, path: str, status: int) -> None:
    answer = signed_in(store, crew(store)[role]).get(path)
    assert answer.status_code == status
    if status == 403:
        assert f"; you are signed in as {role.title()} ({role})." in answer.json()["detail"]


def test_the_cookie_is_for_this_page_alone(store: Store) -> None:
    owner = crew(store)["owner"]
    for url, secure in ((SECURE, True), ("http://192.168.1.20:8000", False)):
        answer = device(store, url=url).post("/sign-in", data={"person": owner, "pin": PIN})
        name, *attributes = answer.headers["set-cookie"].split("; ")
        assert name.startswith(f"{COOKIE}=")
        assert {"HttpOnly", "SameSite=strict", "Path=/", "Max-Age=2592000"} <= set(attributes)
        assert ("Secure" in attributes) is secure


def test_a_wrong_pin_leads_back_to_the_form(store: Store) -> None:
    people_of = crew(store)
    at = device(store)
    answer = at.post("/sign-in", data={"person": people_of["advisor"], "pin": "0000", "then": "/orders"})
    assert answer.status_code == 403
    assert "Name and PIN do not go together; try again." in answer.text
    assert f'<option value="{people_of["advisor"]}" selected>Advisor</option>' in answer.text
    assert "set-cookie" not in answer.headers
    assert "0000" not in answer.text
    for _ in range(TRIES - 1):
        at.post("/sign-in", data={"person": people_of["advisor"], "pin": "0000"})
    locked = at.post("/sign-in", data={"person": people_of["advisor"], "pin": PIN})
    assert locked.status_code == 403
    assert "too many wrong PINs for this name; wait 5 minutes" in locked.text


@pytest.mark.parametrize("person", ["", "abc", "-1", "²", "9" * 30])
def test_nobody_chosen_leads_back_to_the_form(store: Store, person: str) -> None:
    crew(store)
    answer = device(store).post("/sign-in", data={"person": person, "pin": PIN})
    assert answer.status_code in (403, 422)
    assert 'role="alert"' in answer.text


@pytest.mark.parametrize(
    "then", ["https://shop.example", "//shop.example", "/\\shop.example", "/\t/shop.example", "", "orders"]
)
def test_signing_in_leads_to_no_other_site(store: Store, then: str) -> None:
    owner = crew(store)["owner"]
    answer = device(store).post("/sign-in", data={"person": owner, "pin": PIN, "then": then})
    assert answer.headers["location"] == "/"


def test_the_form_works_without_scripts(store: Store) -> None:
    """A form of labelled fields, names of those with a PIN, and nothing that a script would have to add."""
    crew(store)
    add_person(store, name="<Bo>", role="technician", who="test")
    page = device(store).get("/sign-in").text
    assert "<script" not in page
    assert set(re.findall(r'<label for="(\w+)"', page)) == {"person", "pin"}
    assert re.findall(r">(\w+)</option>", page) == ["Advisor", "Owner", "Technician"]
    assert "Bo" not in page
    assert '<form method="post" action="/sign-in">' in page


def test_signing_out_ends_the_token(store: Store) -> None:
    at = signed_in(store, crew(store)["owner"])
    token = at.cookies[COOKIE]
    assert "You are signed in as Owner (owner)." in at.get("/sign-in").text
    answer = at.post("/sign-out")
    assert (answer.status_code, answer.headers["location"]) == (303, "/sign-in")
    assert COOKIE not in at.cookies
    assert at.get("/api/me", headers={"cookie": f"{COOKIE}={token}"}).status_code == 401
    assert at.post("/sign-out").status_code == 303


def test_an_owner_signs_a_lost_device_out(store: Store) -> None:
    people_of = crew(store)
    lost, owner = signed_in(store, people_of["advisor"]), signed_in(store, people_of["owner"])
    assert signed_in(store, people_of["technician"]).post(f"/people/{people_of['owner']}/sign-out").status_code == 403
    assert owner.post(f"/people/{people_of['advisor']}/sign-out").headers["location"] == "/shop"
    assert lost.get("/api/me").status_code == 401
    assert owner.get("/api/me").status_code == 200


def shown_address(at: TestClient, person: int, monkeypatch: pytest.MonkeyPatch) -> str:
    """The address in the QR picture, taken where it is drawn."""
    drawn: list[str] = []
    make = segno.make

    def noted(content: str, **options: object) -> segno.QRCode:
        drawn.append(content)
        return make(content, **options)

    monkeypatch.setattr(segno, "make", noted)
    answer = at.get(f"/people/{person}/pair.svg")
    assert answer.headers["content-type"] == "image/svg+xml"
    assert answer.headers["cache-control"] == "no-store"
    expected = io.BytesIO()
    make(drawn[0], micro=False).save(expected, kind="svg", scale=8, border=4, light="white")
    assert answer.content == expected.getvalue()
    return drawn[0]


def test_a_picture_lets_a_second_device_in_once(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    people_of = crew(store)
    owner = signed_in(store, people_of["owner"])
    page = owner.get(f"/people/{people_of['technician']}/pair").text
    assert f'<img src="/people/{people_of["technician"]}/pair.svg" alt="QR picture' in page
    address = shown_address(owner, people_of["technician"], monkeypatch)
    start, code = address.split("#")
    assert start == f"{SECURE}/pair"

    phone = device(store)
    form = phone.get("/pair").text
    assert '<script type="module" src="/static/pair.js"></script>' in form
    assert '<form method="post" action="/pair" id="pair">' in form
    answer = phone.post("/pair", data={"code": f" {code} "}, headers={"user-agent": "a phone"})
    assert (answer.status_code, answer.headers["location"]) == (303, "/")
    assert "SameSite=strict" in answer.headers["set-cookie"]
    assert phone.get("/orders").status_code == 200
    assert phone.get("/shop").status_code == 403
    assert read_events(store, "people")[-1].more == {"device": "a phone"}

    again = device(store).post("/pair", data={"code": code})
    assert again.status_code == 403
    assert "This code has been used" in again.text
    assert device(store).post("/pair").status_code == 403


def test_the_picture_names_an_address_that_others_reach(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where the owner sits at the shop's computer and opened the page by its inner name."""
    monkeypatch.setattr(signin_routes, "_own_address", lambda: "192.168.1.20")
    owner = crew(store)["owner"]
    at = device(store, url=HERE)
    at.post("/sign-in", data={"person": owner, "pin": PIN})
    assert shown_address(at, owner, monkeypatch).startswith("http://192.168.1.20:8000/pair#")


def test_a_page_for_this_computer_alone_lets_no_device_in(store: Store) -> None:
    owner = crew(store)["owner"]
    at = device(store, local=True, url=HERE)
    at.post("/sign-in", data={"person": owner, "pin": PIN})
    assert at.get(f"/people/{owner}/pair.svg").status_code == 409
    assert "Only this computer can reach narrate now" in at.get(f"/people/{owner}/pair").text


def test_codes_come_from_nowhere_else(store: Store) -> None:
    """What another site makes the browser send is refused, a good code too."""
    code = new_pairing(store, crew(store)["owner"], who="test")
    answer = device(store).post("/pair", data={"code": code}, headers={"sec-fetch-site": "cross-site"})
    assert answer.status_code == 403
    assert device(store).post("/pair", data={"code": code}).status_code == 303


def test_nobody_opens_the_page_to_others_without_an_owners_pin(store: Store) -> None:
    check_may_open(store, "127.0.0.1", local=True)
    owner = add_person(store, name="Ada", role="owner", who="test")
    with pytest.raises(UsageError, match=r"no owner has a PIN yet.*Shop page"):
        check_may_open(store, "0.0.0.0", local=False)
    set_pin(store, owner, PIN, who="test")
    check_may_open(store, "0.0.0.0", local=False)
    assert read_person(store, owner).has_pin


def test_without_any_pin_others_stay_outside(store: Store) -> None:
    """Should the last PIN be taken away while others can reach the page, nobody is taken for its owner."""
    at = device(store)
    assert at.get("/api/me").status_code == 401
    assert "Nobody has a PIN." in at.get("/sign-in").text
