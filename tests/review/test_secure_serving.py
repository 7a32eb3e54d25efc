"""`narrate review --tls` as a process: safe connections, the page without TLS beside it, renewal, own certificates."""

import re
import socket
import ssl
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx2
import pytest
import uvicorn
from cryptography import x509
from cryptography.hazmat.primitives import hashes

from narrate.errors import UsageError
from narrate.review import secure_serving
from narrate.review.addresses import own_address
from narrate.review.certificates import page_certificate, shop_authority
from narrate.review.secure_serving import given_certificate, own_authority
from narrate.store.engine import open_store
from narrate.store.people import add_person

START = [sys.executable, "-c", "from narrate.cli.main import main; main()", "review", "--no-browser", "--no-worker"]
LONGEST_S = 60
NOW = datetime.now(UTC).replace(microsecond=0)


@contextmanager
def running(data: Path, *options: str) -> Iterator[str]:
    """What the process told, once it answers."""
    command = [*START, "--data", str(data), "--port", "0", *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)
    assert process.stdout
    told = ""
    try:
        while "The page is at" not in told:
            line = process.stdout.readline()
            assert line, told
            told += line
        yield told
    finally:
        process.kill()
        process.stdout.close()
        process.wait()


def trusting(der: bytes) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    context.load_verify_locations(cadata=der)
    return context


def test_a_device_that_took_the_certificate_trusts_the_page_and_another_does_not(tmp_path: Path) -> None:
    with running(tmp_path, "--tls") as told:
        page, trust = re.search(r"https://[^ ]+", told)[0], re.search(r"http://[^ ,]+", told)[0]  # type: ignore[index]
        shown = httpx2.get(trust, timeout=LONGEST_S)
        der = httpx2.get(f"{trust}narrate-authority.crt", timeout=LONGEST_S)
        fingerprint = x509.load_der_x509_certificate(der.content).fingerprint(hashes.SHA256())
        assert fingerprint.hex(" ").upper() in told
        assert der.headers["content-type"] == "application/x-x509-ca-cert"
        assert f'href="{page}"' in shown.text
        answer = httpx2.get(page, verify=trusting(der.content), timeout=LONGEST_S)
        assert answer.status_code == 200
        # Told to come by TLS always, a browser could not open the page on which it learns to trust it.
        assert "strict-transport-security" not in answer.headers
        with pytest.raises(httpx2.ConnectError, match="certificate"):
            httpx2.get(page, timeout=LONGEST_S)
        with pytest.raises(httpx2.HTTPError):
            httpx2.get(page.replace("https", "http"), timeout=LONGEST_S)
        evil = httpx2.get(trust, headers={"host": "evil.example"}, timeout=LONGEST_S)
        assert evil.status_code == 400
    with running(tmp_path, "--tls") as told:
        page = re.search(r"https://[^ ]+", told)[0]  # type: ignore[index]
        assert httpx2.get(page, verify=trusting(der.content), timeout=LONGEST_S).status_code == 200


def test_other_devices_reach_it_by_name_and_by_address(tmp_path: Path) -> None:
    store = open_store(tmp_path)
    add_person(store, name="Ana", role="owner", who="test", pin="4711")
    store.close()
    with running(tmp_path, "--tls", "--host", "0.0.0.0") as told:
        page = re.search(r"https://([^ :]+):(\d+)/", told)
        assert page
        assert page[1] == socket.gethostname()
    authority = shop_authority(tmp_path / "tls", (), at=NOW)
    assert authority.permits(socket.gethostname().lower())
    assert authority.permits("localhost")
    assert not authority.permits("bank.example")


def test_a_certificate_got_elsewhere_is_used_with_its_name(tmp_path: Path) -> None:
    other = tmp_path / "other"
    authority = shop_authority(other, ("narrate.shop.example", "127.0.0.1"), at=NOW)
    both = page_certificate(other, authority, ("narrate.shop.example",), at=NOW).read_text()
    cert, key = tmp_path / "chain.pem", tmp_path / "key.pem"
    at = both.index("-----BEGIN CERTIFICATE")
    key.write_text(both[:at])
    cert.write_text(both[at:])
    with running(tmp_path / "data", "--cert", str(cert), "--key", str(key)) as told:
        address = re.search(r"https://narrate\.shop\.example:(\d+)/", told)
        assert address
        assert "SHA-256" not in told
        named = {"host": f"narrate.shop.example:{address[1]}"}
        with httpx2.Client(verify=trusting(authority.der), timeout=LONGEST_S) as client:
            sni = {"sni_hostname": "narrate.shop.example"}
            here = client.get(f"https://127.0.0.1:{address[1]}/", headers=named, extensions=sni)
        assert here.status_code == 200
    assert not (tmp_path / "data" / "tls").exists()


def test_an_authority_made_for_this_computer_alone_serves_the_network_later(tmp_path: Path) -> None:
    first = own_authority(tmp_path, "127.0.0.1")
    assert set(first.names) == {"127.0.0.1", "localhost", "::1"}
    second = own_authority(tmp_path, "0.0.0.0")
    assert second.authority
    assert first.authority
    assert second.authority.fingerprint == first.authority.fingerprint
    assert second.left_out == ()
    assert {socket.gethostname().lower(), own_address()} <= set(second.names)


def test_an_address_outside_is_told_and_a_name_still_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The shop got another router: the addresses are others, the authority and the names are not."""
    monkeypatch.setattr("narrate.review.addresses.own_address", lambda: "192.168.7.20")
    own_authority(tmp_path, "0.0.0.0")
    monkeypatch.setattr("narrate.review.addresses.own_address", lambda: "10.11.12.13")
    moved = own_authority(tmp_path, "0.0.0.0")
    assert moved.left_out == ("10.11.12.13",)
    assert socket.gethostname().lower() in moved.names
    with pytest.raises(UsageError, match="another network or another computer"):
        own_authority(tmp_path, "10.11.12.13")


@pytest.mark.parametrize("options", [("--cert", "x.pem"), ("--key", "x.pem"), ("--tls", "--cert", "x.pem")])
def test_options_that_do_not_go_together_are_told(tmp_path: Path, options: tuple[str, ...]) -> None:
    (tmp_path / "x.pem").write_text("junk")
    command = [*START, "--data", str(tmp_path / "data"), *options]
    refused = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path, timeout=LONGEST_S)
    assert refused.returncode == 2
    assert "--cert and --key together" in refused.stderr


def test_files_that_are_no_certificate_are_told(tmp_path: Path) -> None:
    junk = tmp_path / "junk.pem"
    junk.write_text("junk")
    with pytest.raises(UsageError, match=r"junk\.pem is no certificate"):
        given_certificate(junk, junk)
    page = own_authority(tmp_path, "127.0.0.1").chain
    with pytest.raises(UsageError, match="no certificate and its key"):
        given_certificate(page, junk)


def test_a_running_page_takes_a_new_certificate(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Nearly out of date, it is made anew, and connections from then on get the new one."""
    monkeypatch.setattr(secure_serving, "_now", lambda: NOW - timedelta(days=380))
    secured = own_authority(tmp_path, "127.0.0.1")
    old = secured.chain.read_bytes()
    config = uvicorn.Config(lambda: None)
    secure_serving.secure(config, secured)
    config.load()
    assert config.callback_notify
    with pytest.raises(StopIteration):
        config.callback_notify().send(None)
    assert secured.chain.read_bytes() == old
    monkeypatch.setattr(secure_serving, "_now", lambda: NOW)
    with pytest.raises(StopIteration):
        config.callback_notify().send(None)
    assert secured.chain.read_bytes() != old
    assert config.ssl
    assert secured.authority
    assert presented(config.ssl, secured.authority.der) == x509.load_pem_x509_certificate(secured.chain.read_bytes())


def test_a_certificate_that_cannot_be_renewed_does_not_stop_the_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    secured = own_authority(tmp_path, "127.0.0.1")
    config = uvicorn.Config(lambda: None)
    secure_serving.secure(config, secured)
    config.load()
    monkeypatch.setattr(secure_serving, "hosts_of", lambda host: frozenset({"elsewhere"}))
    with pytest.raises(StopIteration):
        config.callback_notify().send(None)  # type: ignore[misc]
    assert "could not be renewed" in caplog.text


def presented(server: ssl.SSLContext, der: bytes) -> x509.Certificate:
    """The certificate that a server shows."""
    one, other = ssl.MemoryBIO(), ssl.MemoryBIO()
    client = trusting(der).wrap_bio(one, other, server_hostname="127.0.0.1")
    ends = (client, server.wrap_bio(other, one, server_side=True))
    for _ in range(4):
        for end in ends:
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
    shown = client.getpeercert(binary_form=True)
    assert shown
    return x509.load_der_x509_certificate(shown)
