"""The shop's own certificates: what they are for, what they cannot be used for, and how they are renewed."""

import ipaddress
import shutil
import ssl
import stat
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from cryptography import x509
from cryptography.x509.oid import ExtendedKeyUsageOID
from cryptography.x509.verification import PolicyBuilder, VerificationError
from cryptography.x509.verification import Store as Trusted

from narrate.errors import UsageError
from narrate.review import certificates
from narrate.review.certificates import Authority, names_in, page_certificate, shop_authority

AT = datetime.now(UTC).replace(microsecond=0)
NAMES = ("bay-pc", "bay-pc.local", "localhost", "127.0.0.1", "192.168.7.20")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return tmp_path / "data" / "tls"


@pytest.fixture
def authority(folder: Path) -> Authority:
    return shop_authority(folder, NAMES, at=AT)


def forged(authority: Authority, *names: str) -> list[bytes]:
    """Return a key and a certificate for any names at all, by someone who has the authority's key."""
    return certificates._signed(authority, names, AT)


def leaf_of(pem: bytes) -> x509.Certificate:
    return x509.load_pem_x509_certificate(pem)


def believed(authority: Authority, leaf: x509.Certificate, name: str, *, at: datetime = AT) -> bool:
    """Whether whoever trusts the authority believes a certificate about a name, as cryptography checks it."""
    try:
        subject: x509.DNSName | x509.IPAddress = x509.IPAddress(ipaddress.ip_address(name))
    except ValueError:
        subject = x509.DNSName(name)
    verifier = PolicyBuilder().store(Trusted([authority.certificate])).time(at).build_server_verifier(subject)
    try:
        verifier.verify(leaf, [])
    except VerificationError:
        return False
    return True


def agreed(authority: Authority, page: Path, name: str) -> str:
    """Shake hands as OpenSSL does, without any network; the empty text, or why it was refused."""
    server, client = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER), ssl.SSLContext(ssl.PROTOCOL_TLS_CLIENT)
    server.load_cert_chain(page)
    client.load_verify_locations(cadata=authority.der)
    one, other = ssl.MemoryBIO(), ssl.MemoryBIO()
    ends = [client.wrap_bio(one, other, server_hostname=name), server.wrap_bio(other, one, server_side=True)]
    for _ in range(6):
        for end in ends:
            try:
                end.do_handshake()
            except ssl.SSLWantReadError:
                continue
            except ssl.SSLCertVerificationError as error:
                return error.verify_message
    return ""


@pytest.mark.parametrize("name", NAMES)
def test_the_page_is_believed_under_each_of_its_names(folder: Path, authority: Authority, name: str) -> None:
    page = page_certificate(folder, authority, NAMES, at=AT)
    assert sorted(names_in(page)) == sorted(NAMES)
    assert believed(authority, leaf_of(page.read_bytes()), name)
    assert agreed(authority, page, name) == ""


@pytest.mark.parametrize(
    "name", ["bank.example", "bay-pc.example.com", "other.local", "local", "10.0.0.1", "192.168.8.20", "fd00::1"]
)
def test_a_stolen_key_cannot_speak_for_others(tmp_path: Path, authority: Authority, name: str) -> None:
    parts = forged(authority, name)
    page = tmp_path / "forged.pem"
    page.write_bytes(b"".join(parts))
    assert not authority.permits(name)
    assert not believed(authority, leaf_of(parts[1]), name)
    assert "permitted subtree violation" in agreed(authority, page, name)


def test_a_stolen_key_cannot_make_another_authority(tmp_path: Path, authority: Authority) -> None:
    extensions = authority.certificate.extensions
    constraints = extensions.get_extension_for_class(x509.BasicConstraints)
    assert (constraints.value.ca, constraints.value.path_length, constraints.critical) == (True, 0, True)
    assert extensions.get_extension_for_class(x509.NameConstraints).critical


def test_times_are_those_browsers_take(folder: Path, authority: Authority) -> None:
    leaf = leaf_of(page_certificate(folder, authority, NAMES, at=AT).read_bytes())
    assert leaf.not_valid_after_utc - leaf.not_valid_before_utc < timedelta(days=397)
    assert leaf.not_valid_before_utc < AT
    assert authority.certificate.not_valid_after_utc - AT == timedelta(days=3650)
    usage = leaf.extensions.get_extension_for_class(x509.ExtendedKeyUsage).value
    assert list(usage) == [ExtendedKeyUsageOID.SERVER_AUTH]


def test_keys_are_for_nobody_else_to_read(folder: Path, authority: Authority) -> None:
    page = page_certificate(folder, authority, NAMES, at=AT)
    for path in (folder / certificates.AUTHORITY, page):
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700
    assert b"PRIVATE" not in authority.der
    # A copy that was put back is made private again.
    (folder / certificates.AUTHORITY).chmod(0o644)
    shop_authority(folder, NAMES, at=AT)
    assert stat.S_IMODE((folder / certificates.AUTHORITY).stat().st_mode) == 0o600


def test_the_authority_stays_and_the_page_is_renewed_in_time(folder: Path, authority: Authority) -> None:
    page = page_certificate(folder, authority, NAMES, at=AT)
    first = page.read_bytes()
    later = AT + timedelta(days=360)
    assert page_certificate(folder, authority, NAMES, at=later).read_bytes() == first
    nearly = AT + timedelta(days=370)
    again = shop_authority(folder, ("another",), at=nearly)
    assert again.fingerprint == authority.fingerprint
    second = page_certificate(folder, again, NAMES, at=nearly).read_bytes()
    assert second != first
    assert believed(authority, leaf_of(second), "bay-pc", at=nearly + timedelta(days=300))


def test_another_address_in_the_network_gets_a_certificate_at_once(folder: Path, authority: Authority) -> None:
    page_certificate(folder, authority, NAMES, at=AT)
    page = page_certificate(folder, authority, ("bay-pc", "192.168.7.99"), at=AT)
    assert names_in(page) == ("192.168.7.99", "bay-pc")
    assert agreed(authority, page, "192.168.7.99") == ""


def test_a_name_it_may_not_speak_for_is_left_out(folder: Path, authority: Authority) -> None:
    assert names_in(page_certificate(folder, authority, ("bay-pc", "10.1.1.1"), at=AT)) == ("bay-pc",)
    with pytest.raises(UsageError, match="another network or another computer"):
        page_certificate(folder, authority, ("other-pc", "10.1.1.1"), at=AT)


def test_the_last_certificates_end_with_the_authority(folder: Path, authority: Authority) -> None:
    late = AT + timedelta(days=3640)
    leaf = leaf_of(page_certificate(folder, authority, NAMES, at=late).read_bytes())
    assert leaf.not_valid_after_utc == authority.certificate.not_valid_after_utc
    with pytest.raises(UsageError, match="valid no longer; delete"):
        shop_authority(folder, NAMES, at=AT + timedelta(days=3650))


@pytest.mark.parametrize("content", [b"", b"junk", b"-----BEGIN CERTIFICATE-----\n"])
def test_a_damaged_authority_is_told_and_a_damaged_page_made_anew(
    folder: Path, authority: Authority, content: bytes
) -> None:
    page = page_certificate(folder, authority, NAMES, at=AT)
    page.write_bytes(content)
    assert names_in(page_certificate(folder, authority, NAMES, at=AT))
    (folder / certificates.AUTHORITY).write_bytes(content)
    with pytest.raises(UsageError, match="cannot be read"):
        shop_authority(folder, NAMES, at=AT)


def test_the_key_of_another_authority_is_told(folder: Path, authority: Authority, tmp_path: Path) -> None:
    other = tmp_path / "other"
    shop_authority(other, NAMES, at=AT)
    key = (other / certificates.AUTHORITY).read_text().split("-----BEGIN CERTIFICATE")[0]
    own = (folder / certificates.AUTHORITY).read_text()
    (folder / certificates.AUTHORITY).write_text(key + own[own.index("-----BEGIN CERTIFICATE") :])
    with pytest.raises(UsageError, match="not its certificate's"):
        shop_authority(folder, NAMES, at=AT)
    # The page's certificate of another authority is no good either.
    shutil.copy(other / certificates.AUTHORITY, folder / certificates.AUTHORITY)
    page_certificate(folder, shop_authority(folder, NAMES, at=AT), NAMES, at=AT)


def test_names_without_addresses_permit_no_address_at_all(folder: Path) -> None:
    authority = shop_authority(folder, ("bay-pc",), at=AT)
    assert authority.permits("x.bay-pc")
    assert not believed(authority, leaf_of(forged(authority, "8.8.8.8")[1]), "8.8.8.8")
    assert authority.name == f"narrate on bay-pc, {AT:%Y-%m-%d}"


def test_addresses_alone_permit_no_other_name(folder: Path) -> None:
    authority = shop_authority(folder, ("192.168.7.20", "fd12::5"), at=AT)
    assert authority.permits("fd12::9")
    assert not believed(authority, leaf_of(forged(authority, "bank.example")[1]), "bank.example")
    assert not believed(authority, leaf_of(forged(authority, "fd13::9")[1]), "fd13::9")
