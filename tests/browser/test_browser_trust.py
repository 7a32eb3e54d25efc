"""A real browser and the shop's own authority: with its certificate a page gets the microphone, without it nothing."""

import http.server
import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
import threading
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import axe_playwright_python
import pytest
from fake_microphone import microphone_flags
from playwright.sync_api import Browser, Error, Page

from narrate.review import certificates
from narrate.review.certificates import shop_authority
from narrate.store.engine import open_store
from narrate.store.people import add_person
from narrate.store.signed_in import new_pairing

NAME = socket.gethostname().lower()
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--autoplay-policy=no-user-gesture-required",
    f"--host-resolver-rules=MAP {NAME} 127.0.0.1, MAP bank.example 127.0.0.1",
]
AXE = (Path(axe_playwright_python.__file__).parent / "axe.min.js").read_text("utf-8")
LISTENS = """async () => {
  const stream = await navigator.mediaDevices.getUserMedia({ audio: true });
  const context = new AudioContext();
  const analyser = context.createAnalyser();
  context.createMediaStreamSource(stream).connect(analyser);
  const heard = new Float32Array(analyser.fftSize);
  for (let tries = 0; tries < 100; tries += 1) {
    await new Promise((done) => setTimeout(done, 100));
    analyser.getFloatTimeDomainData(heard);
    if (heard.some((value) => Math.abs(value) > 0.01)) return true;
  }
  return false;
}"""
WORKS_WITHOUT_NETWORK = "async () => (await navigator.serviceWorker.ready).active.state"


@dataclass(frozen=True, kw_only=True)
class SecureShop:
    """A server that other devices reach by TLS."""

    page: str
    trust: str
    data: Path
    owner: int


@pytest.fixture(scope="module")
def secure_shop(tmp_path_factory: pytest.TempPathFactory) -> Iterator[SecureShop]:
    data = tmp_path_factory.mktemp("secure") / "data"
    store = open_store(data)
    owner = add_person(store, name="Ana", role="owner", who="test", pin="4711")
    store.close()
    command = [str(Path(sys.executable).with_name("narrate")), "review", "--data", str(data), "--port", "0"]
    command += ["--tls", "--host", "0.0.0.0", "--no-browser", "--no-worker"]
    told = {key: value for key, value in os.environ.items() if key != "NARRATE_STORE"}
    server = subprocess.Popen(command, stderr=subprocess.PIPE, env=told, text=True)
    assert server.stderr
    said = ""
    while "The page is at" not in said:
        line = server.stderr.readline()
        assert line, said
        said += line
    ports = re.search(r"http://[^ ]+:(\d+)/.*https://[^ ]+:(\d+)/", said, re.DOTALL)
    assert ports
    yield SecureShop(page=f"https://{NAME}:{ports[2]}", trust=f"http://{NAME}:{ports[1]}", data=data, owner=owner)
    server.kill()
    server.stderr.close()
    server.wait()


@pytest.fixture(scope="module")
def trusting(browser: Browser, secure_shop: SecureShop, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Browser]:
    """A browser on a device that took the certificate from the page without TLS."""
    home = tmp_path_factory.mktemp("home")
    stranger = browser.browser_type.launch(executable_path=shutil.which("chromium"), args=FLAGS)
    page = stranger.new_page()
    page.goto(secure_shop.trust)
    with page.expect_download() as taken:
        page.get_by_role("link", name="Take the shop’s certificate").click()
    certificate = home / taken.value.suggested_filename
    taken.value.save_as(certificate)
    stranger.close()
    kept = f"sql:{home}/.pki/nssdb"
    (home / ".pki" / "nssdb").mkdir(parents=True)
    for asked in (["-N", "--empty-password"], ["-A", "-t", "C,,", "-n", "shop", "-i", str(certificate)]):
        subprocess.run(["certutil", "-d", kept, *asked], check=True, capture_output=True)
    opened = browser.browser_type.launch(
        executable_path=shutil.which("chromium"),
        args=[*FLAGS, *microphone_flags(home / "voice.wav")],
        env={**os.environ, "HOME": str(home)},
    )
    yield opened
    opened.close()


def let_in(page: Page, shop: SecureShop) -> None:
    """Sign a device in by the address in the QR picture."""
    store = open_store(shop.data)
    code = new_pairing(store, shop.owner, who="Ana")
    store.close()
    page.goto(f"{shop.page}/pair#{code}")
    page.wait_for_url(f"{shop.page}/")


def test_a_device_that_took_the_certificate_can_record(trusting: Browser, secure_shop: SecureShop) -> None:
    """Paired over TLS it has a secure context, a microphone that hears, and a page that opens without network."""
    page = trusting.new_page()
    let_in(page, secure_shop)
    assert page.evaluate("isSecureContext")
    cookie = next(each for each in page.context.cookies() if each["name"] == "narrate_session")
    assert cookie["secure"]
    assert cookie["httpOnly"]
    page.goto(f"{secure_shop.page}/capture")
    assert page.evaluate(LISTENS)
    assert page.evaluate(WORKS_WITHOUT_NETWORK) in ("activating", "activated")
    page.context.close()


def test_without_the_certificate_the_page_does_not_open(browser: Browser, secure_shop: SecureShop) -> None:
    stranger = browser.browser_type.launch(executable_path=shutil.which("chromium"), args=FLAGS)
    page = stranger.new_page()
    with pytest.raises(Error, match="ERR_CERT_AUTHORITY_INVALID"):
        page.goto(f"{secure_shop.page}/sign-in")
    # And over plain HTTP there is neither a secure context nor a microphone.
    page = stranger.new_page(viewport={"width": 390, "height": 844})
    page.goto(secure_shop.trust)
    assert page.evaluate("[isSecureContext, navigator.mediaDevices === undefined]") == [False, True]
    # What axe finds fault with on it, and whether it scrolls sideways on a phone.
    page.evaluate(AXE)
    found = page.evaluate("axe.run({resultTypes: ['violations']})")
    assert [(each["id"], each["nodes"][0]["html"]) for each in found["violations"]] == []
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    stranger.close()


def test_a_stolen_authority_can_imitate_no_other_site(
    trusting: Browser, secure_shop: SecureShop, tmp_path: Path
) -> None:
    authority = shop_authority(secure_shop.data / "tls", (), at=datetime.now(UTC))
    page = trusting.new_page()
    for name, seen in ((NAME, True), ("bank.example", False)):
        chain = tmp_path / f"{name}.pem"
        chain.write_bytes(b"".join(certificates._signed(authority, (name,), datetime.now(UTC))))
        with Imitation(chain) as port:
            if seen:
                assert page.goto(f"https://{name}:{port}/")
                assert "imitation" in page.content()
            else:
                with pytest.raises(Error, match="ERR_CERT"):
                    page.goto(f"https://{name}:{port}/")
    page.context.close()


class Imitation:
    """A server that shows any certificate it is given."""

    def __init__(self, chain: Path) -> None:
        self.server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Told)
        context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
        context.load_cert_chain(chain)
        # The handshake belongs to the thread of a connection: one that breaks off is that one's affair.
        self.server.socket = context.wrap_socket(self.server.socket, server_side=True, do_handshake_on_connect=False)
        self.thread = threading.Thread(target=self.server.serve_forever)

    def __enter__(self) -> int:
        self.thread.start()
        return int(self.server.server_address[1])

    def __exit__(self, *_: object) -> None:
        self.server.shutdown()
        self.thread.join()
        self.server.server_close()


class Told(http.server.BaseHTTPRequestHandler):
    """Answers everything with one page."""

    def handle(self) -> None:
        try:
            super().handle()
        except (OSError, ssl.SSLError):
            self.close_connection = True

    def do_GET(self) -> None:
        self.send_response(200)
        self.send_header("content-type", "text/html")
        self.end_headers()
        self.wfile.write(b"<title>t</title>imitation")

    def log_message(self, *_: object) -> None:
        """Say nothing."""
