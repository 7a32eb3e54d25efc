"""The page without TLS gives out a certificate and nothing else, and leads on under the name it was opened by."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest
import segno
from cryptography import x509
from starlette.testclient import TestClient

from narrate.review.app import make_app
from narrate.review.certificates import Authority, shop_authority
from narrate.review.desk import Trust, make_desk
from narrate.review.trust_page import make_trust_app, system_of
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.store.people import add_person

HOSTS = frozenset({"bay-pc", "127.0.0.1"})


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


@pytest.fixture
def authority(store: Store) -> Authority:
    return shop_authority(store.folder / "tls", ("bay-pc", "192.168.7.20"), at=datetime.now(UTC))


@pytest.fixture
def plain(store: Store, authority: Authority) -> TestClient:
    app = make_trust_app(make_desk(store, Settings(), local=False), authority, hosts=HOSTS, page_port=8470)
    return TestClient(app, base_url="http://bay-pc:8471", follow_redirects=False)


def test_it_gives_the_certificate_and_leads_on(plain: TestClient, authority: Authority) -> None:
    page = plain.get("/")
    assert page.status_code == 200
    assert 'href="/narrate-authority.crt"' in page.text
    assert 'href="https://bay-pc:8470/"' in page.text
    assert authority.fingerprint in page.text
    assert authority.name in page.text
    given = plain.get("/narrate-authority.crt")
    assert x509.load_der_x509_certificate(given.content) == authority.certificate
    assert b"PRIVATE" not in given.content
    assert plain.get("/base.css").headers["content-type"].startswith("text/css")


@pytest.mark.parametrize("path", ["/pair", "/shop", "/static/base.css", "/tls/authority.pem", "/../tls/authority.pem"])
def test_everything_else_leads_back_to_it(plain: TestClient, path: str) -> None:
    answer = plain.get(path)
    assert (answer.status_code, answer.headers["location"], answer.content) == (303, "/", b"")
    assert plain.post(path, headers={"origin": "http://bay-pc:8471"}).status_code == 405


def test_it_has_no_script_and_goes_by_no_other_name(plain: TestClient) -> None:
    page = plain.get("/")
    assert "<script" not in page.text
    assert "default-src 'none'" in page.headers["content-security-policy"]
    assert plain.get("/", headers={"host": "evil.example"}).status_code == 400


@pytest.mark.parametrize(
    ("agent", "system"),
    [
        ("Mozilla/5.0 (iPhone; CPU iPhone OS 18_5 like Mac OS X) AppleWebKit/605.1.15", "iphone"),
        ("Mozilla/5.0 (Linux; Android 15; Pixel 9) AppleWebKit/537.36", "android"),
        ("Mozilla/5.0 (Windows NT 10.0; Win64; x64) AppleWebKit/537.36", "windows"),
        ("Mozilla/5.0 (Macintosh; Intel Mac OS X 14_5) AppleWebKit/605.1.15", "mac"),
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "linux"),
        ("curl/8.5", None),
    ],
)
def test_the_steps_of_the_asking_system_are_open(plain: TestClient, agent: str, system: str | None) -> None:
    assert system_of(agent) == system
    page = plain.get("/", headers={"user-agent": agent}).text
    assert page.count("<details open>") == (system is not None)
    assert page.count("<details") == 5


def test_where_a_device_is_let_in_trust_comes_first(
    store: Store, authority: Authority, monkeypatch: pytest.MonkeyPatch
) -> None:
    owner = add_person(store, name="Ana", role="owner", who="test", pin="4711")
    trust = Trust(port=8471, called=authority.name, fingerprint=authority.fingerprint)
    desk = make_desk(store, Settings(), local=False, trust=trust)
    at = TestClient(make_app(desk, hosts=HOSTS), base_url="https://bay-pc:8470", follow_redirects=False)
    assert at.get("/trust.svg", headers={"sec-fetch-dest": "image"}).status_code == 401
    at.post("/sign-in", data={"person": owner, "pin": "4711"})
    page = at.get(f"/people/{owner}/pair").text
    assert page.index("/trust.svg") < page.index("/pair.svg")
    assert authority.fingerprint in page
    drawn: list[str] = []
    make = segno.make
    monkeypatch.setattr(segno, "make", lambda text, **options: drawn.append(text) or make(text, **options))
    assert at.get("/trust.svg").headers["content-type"] == "image/svg+xml"
    assert at.get(f"/people/{owner}/pair.svg").status_code == 200
    assert drawn[0] == "http://bay-pc:8471/"
    assert drawn[1].startswith("https://bay-pc:8470/pair#")


def test_without_an_authority_there_is_nothing_to_take(store: Store) -> None:
    owner = add_person(store, name="Ana", role="owner", who="test", pin="4711")
    at = TestClient(make_app(make_desk(store, Settings(), local=False), hosts=HOSTS), base_url="http://bay-pc:8470")
    at.post("/sign-in", data={"person": owner, "pin": "4711"})
    assert "/trust.svg" not in at.get(f"/people/{owner}/pair").text
    assert at.get("/trust.svg").status_code == 404
