"""Every refusal of the guards, over a tiny application, and the headers of every answer."""

import asyncio

import pytest
from fastapi import FastAPI, Form, Request, Response, WebSocket
from starlette.testclient import TestClient, WebSocketDenialResponse
from starlette.types import Message, Receive, Scope, Send

from narrate.review.guards import HEADERS, Guards, TooLargeError, hosts_of, is_loopback

HERE = "http://127.0.0.1:8000"
LIVE = "ws://127.0.0.1:8000/live"
SAME = {"sec-fetch-site": "same-origin"}


def small_app() -> FastAPI:
    app = FastAPI()

    @app.get("/")
    def page() -> Response:
        return Response("<p>page</p>", media_type="text/html")

    @app.get("/kept")
    def kept() -> Response:
        return Response("{}", media_type="application/json", headers={"Cache-Control": "max-age=60"})

    @app.get("/sound")
    def sound() -> Response:
        return Response(b"x", media_type="audio/ogg")

    @app.get("/broken")
    def broken() -> Response:
        raise RuntimeError

    @app.post("/json")
    async def json(body: dict[str, str]) -> dict[str, int]:
        return {"keys": len(body)}

    @app.post("/form")
    async def form(word: str = Form()) -> str:
        return word

    @app.post("/api/recordings")
    async def recordings(request: Request) -> int:
        return len(await request.body())

    @app.websocket("/live")
    async def live(socket: WebSocket) -> None:
        await socket.accept()
        await socket.send_text("hello")
        await socket.close()

    return app


def client(*, hosts: frozenset[str] = hosts_of("127.0.0.1"), url: str = HERE) -> TestClient:
    guarded = Guards(small_app(), hosts=hosts, large={"/api/recordings": 3_000_000})
    return TestClient(guarded, base_url=url, follow_redirects=False)


@pytest.mark.parametrize("host", ["127.0.0.1:8000", "localhost", "LOCALHOST:1", "[::1]:8000", "[::1]", "127.0.0.1"])
def test_own_hosts_are_let_through(host: str) -> None:
    assert client().get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    ["shop.example", "127.0.0.1.shop.example", "localhost.", "192.168.1.9", "x@127.0.0.1", "127.0.0.1/x", "", "[::1"],
)
def test_foreign_hosts_are_refused(host: str) -> None:
    answer = client().get("/", headers={"host": host})
    assert answer.status_code == 400
    assert answer.text == "This page does not go by that name; open it at the address that narrate printed."


def test_two_hosts_are_refused() -> None:
    answer = client().get("/", headers=[("host", "127.0.0.1"), ("host", "shop.example")])
    assert answer.status_code == 400


def test_the_address_a_connection_reached_is_its_own() -> None:
    """Bound to every address, the page goes by the one that the browser really connected to."""
    hosts = hosts_of("0.0.0.0")
    assert client(hosts=hosts, url="http://192.168.1.20:8000").get("/").status_code == 200
    assert client(hosts=hosts, url="http://192.168.1.20:8000").get("/", headers={"host": "10.0.0.1"}).status_code == 400
    assert client(hosts=hosts, url="http://shop.example").get("/").status_code == 400


def test_names_follow_what_the_page_is_bound_to(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("socket.gethostname", lambda: "Bench.lan")
    assert hosts_of("192.168.1.20") >= {"192.168.1.20", "localhost"}
    assert hosts_of("Shop.lan") >= {"shop.lan", "shop.local"}
    assert hosts_of("0.0.0.0") >= {"bench.lan", "bench.local"}
    assert "0.0.0.0" not in hosts_of("0.0.0.0")
    assert hosts_of("127.0.0.7") >= {"127.0.0.7"}
    assert [is_loopback(host) for host in ("localhost", "127.0.0.9", "::1", "[::1]")] == [True] * 4
    assert [is_loopback(host) for host in ("0.0.0.0", "::", "192.168.1.20", "shop.lan", "")] == [False] * 5


@pytest.mark.parametrize(
    "headers",
    [
        {"sec-fetch-site": "cross-site"},
        {"sec-fetch-site": "same-site"},
        {"sec-fetch-site": "cross-site", "origin": HERE},
        {"origin": "https://shop.example"},
        {"origin": "http://127.0.0.1:9000"},
        {"origin": "null"},
        {"origin": "http://127.0.0.1:99999999"},
    ],
)
def test_what_another_site_sends_is_refused(headers: dict[str, str]) -> None:
    answer = client().post("/json", json={}, headers=headers)
    assert answer.status_code == 403
    assert answer.text == "Another site sent this; open narrate's own page and do it there."


@pytest.mark.parametrize("headers", [SAME, {"sec-fetch-site": "none"}, {"origin": HERE}, {}])
def test_what_the_page_itself_sends_is_let_through(headers: dict[str, str]) -> None:
    assert client().post("/json", json={"a": "b"}, headers=headers).json() == {"keys": 1}


def test_reading_from_elsewhere_is_let_through() -> None:
    """A link on another page may lead here; the browser keeps the answer from that page."""
    assert client().get("/", headers={"sec-fetch-site": "cross-site"}).status_code == 200
    assert client().options("/json", headers={"origin": "https://shop.example"}).status_code == 403


def test_the_port_of_a_scheme_need_not_be_said() -> None:
    answer = client(url="https://127.0.0.1").post("/json", json={}, headers={"origin": "https://127.0.0.1:443"})
    assert answer.status_code == 200


def test_live_connections_of_other_sites_are_refused() -> None:
    for headers in ({"origin": "https://shop.example"}, {"sec-fetch-site": "cross-site"}, {"host": "shop.example"}):
        with (
            pytest.raises(WebSocketDenialResponse) as refused,
            client().websocket_connect(LIVE, headers=headers),
        ):
            pass
        assert refused.value.status_code in (400, 403)
        assert refused.value.text.endswith(".")
    for headers in ({"origin": HERE}, SAME):
        with client().websocket_connect(LIVE, headers=headers) as socket:
            assert socket.receive_text() == "hello"


def test_a_server_without_refusals_closes_a_foreign_live_connection() -> None:
    async def never(*_: object) -> None:
        pytest.fail("the application was reached")

    async def receive() -> Message:
        return {"type": "websocket.connect"}

    sent: list[Message] = []

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {"type": "websocket", "path": "/live", "headers": [(b"host", b"shop.example")], "server": None}
    asyncio.run(Guards(never)(scope, receive, send))
    assert [(one["type"], one["code"]) for one in sent] == [("websocket.close", 1008)]


def test_a_body_declared_too_large_is_refused() -> None:
    answer = client().post("/json", content=b"x" * 1_000_001, headers={"content-type": "application/json"})
    assert answer.status_code == 413
    assert answer.text == "This is more than the 1 MB that can be sent here at once; send less."


@pytest.mark.parametrize("declared", ["-1", "many", "1e3"])
def test_a_length_that_is_none_is_refused(declared: str) -> None:
    assert client().post("/json", content=b"{}", headers={"content-length": declared}).status_code == 413


@pytest.mark.parametrize(
    ("path", "kind"), [("/json", "application/json"), ("/form", "application/x-www-form-urlencoded")]
)
def test_a_body_that_turns_out_too_large_is_refused(path: str, kind: str) -> None:
    """Sent in pieces, without a length: the page never sees more than the limit."""
    answer = client().post(path, content=iter([b"x" * 400_000] * 3), headers={"content-type": kind})
    assert answer.status_code == 413
    assert answer.text.endswith("send less.")


def test_uploads_have_a_limit_of_their_own() -> None:
    at = client()
    assert at.post("/api/recordings", content=b"x" * 3_000_000).json() == 3_000_000
    refused = at.post("/api/recordings", content=iter([b"x" * 1_000_000] * 4))
    assert refused.status_code == 413
    assert refused.json() == {"detail": "This is more than the 3 MB that can be sent here at once; send less."}


def test_an_answer_that_has_begun_breaks_off() -> None:
    """Half an answer cannot become a refusal any more; the server cuts it, so that nobody takes it for whole."""

    async def eager(scope: Scope, receive: Receive, send: Send) -> None:
        await send({"type": "http.response.start", "status": 200, "headers": []})
        while True:
            await receive()

    async def receive() -> Message:
        return {"type": "http.request", "body": b"x" * 400_000, "more_body": True}

    sent: list[Message] = []

    async def send(message: Message) -> None:
        sent.append(message)

    scope = {"type": "http", "method": "POST", "path": "/", "headers": [(b"host", b"localhost")], "server": None}
    with pytest.raises(TooLargeError):
        asyncio.run(Guards(eager)(scope, receive, send))
    assert [one["type"] for one in sent] == ["http.response.start"]


@pytest.mark.parametrize(
    ("path", "headers", "status"),
    [("/", {}, 200), ("/sound", {}, 200), ("/none", {}, 404), ("/", {"host": "shop.example"}, 400)],
)
def test_every_answer_has_the_headers(path: str, headers: dict[str, str], status: int) -> None:
    answer = client().get(path, headers=headers)
    assert answer.status_code == status
    assert {name: answer.headers[name] for name in HEADERS} == dict(HEADERS)
    assert "'unsafe" not in answer.headers["content-security-policy"]


def test_an_answer_to_a_mishap_has_the_headers_too() -> None:
    answer = TestClient(Guards(small_app()), base_url=HERE, raise_server_exceptions=False).get("/broken")
    assert answer.status_code == 500
    assert answer.headers["content-security-policy"].startswith("default-src 'none'")


def test_pages_are_not_stored_by_the_browser() -> None:
    at = client()
    assert at.get("/").headers["cache-control"] == "no-store"
    assert at.get("/kept").headers["cache-control"] == "max-age=60"
    assert "cache-control" not in at.get("/sound").headers
