"""A certificate authority of the shop's own, and the certificates it gives this page.

Browsers give a page the microphone only over a connection they trust. Nobody sells certificates for names inside a
shop, so narrate makes an authority that phones are told to trust once. It is constrained to the shop's own names and
network: whoever steals its key can imitate this page, and no bank.
"""

import ipaddress
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cached_property
from pathlib import Path

from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import ExtendedKeyUsageOID, NameOID

from narrate.atomic import written_whole
from narrate.errors import UsageError

Address = ipaddress.IPv4Address | ipaddress.IPv6Address
Network = ipaddress.IPv4Network | ipaddress.IPv6Network

AUTHORITY, LEAF = "authority.pem", "page.pem"
AUTHORITY_FOR = timedelta(days=3650)
LEAF_FOR = timedelta(days=397)
"""Browsers refuse certificates that are valid for longer."""
RENEWED_BEFORE = timedelta(days=30)
CLOCKS_DIFFER = timedelta(days=1)
"""A phone whose clock is behind must not take a new certificate for one of the future."""
PREFIX = {4: 24, 6: 64}
"""How much of an address is its network: what routers of shops and homes give out."""
SERVING = x509.KeyUsage(
    digital_signature=True,
    content_commitment=False,
    key_encipherment=False,
    data_encipherment=False,
    key_agreement=False,
    key_cert_sign=False,
    crl_sign=False,
    encipher_only=False,
    decipher_only=False,
)
SIGNING = x509.KeyUsage(
    digital_signature=False,
    content_commitment=False,
    key_encipherment=False,
    data_encipherment=False,
    key_agreement=False,
    key_cert_sign=True,
    crl_sign=True,
    encipher_only=False,
    decipher_only=False,
)


@dataclass(frozen=True, kw_only=True)
class Authority:
    """What phones trust, and the key that signs in its name."""

    certificate: x509.Certificate
    key: ec.EllipticCurvePrivateKey

    @cached_property
    def der(self) -> bytes:
        """The certificate as phones take it."""
        return self.certificate.public_bytes(serialization.Encoding.DER)

    @property
    def fingerprint(self) -> str:
        """SHA-256 of the certificate, in pairs of digits as phones show it."""
        return self.certificate.fingerprint(hashes.SHA256()).hex(" ").upper()

    @property
    def name(self) -> str:
        """What phones call it."""
        return str(self.certificate.subject.get_attributes_for_oid(NameOID.COMMON_NAME)[0].value)

    def permits(self, name: str) -> bool:
        """Whether phones would believe this authority about a host name or an address."""
        within = self.certificate.extensions.get_extension_for_class(x509.NameConstraints).value.permitted_subtrees
        address = _address(name)
        if address is not None:
            networks = [ipaddress.ip_network(str(each.value)) for each in within or () if _is_address(each)]
            return any(address in network for network in networks)
        names = [each.value for each in within or () if isinstance(each, x509.DNSName)]
        return any(name == each or name.endswith(f".{each}") for each in names)


def shop_authority(folder: Path, names: Iterable[str], *, at: datetime) -> Authority:
    """The authority kept in `folder`; made anew, for host names and the networks of addresses, where there is none.

    Raises UsageError where it cannot be read or is out of date.
    """
    path = folder / AUTHORITY
    if not path.exists():
        _write(path, _made(sorted(set(names)), at))
    authority = _read(path)
    if authority.certificate.not_valid_after_utc <= at:
        message = (
            f"The shop's certificate authority is valid no longer; delete {path}: a new one is then made, and every "
            "phone has to trust that one anew."
        )
        raise UsageError(message)
    return authority


def page_certificate(folder: Path, authority: Authority, names: Sequence[str], *, at: datetime) -> Path:
    """A file with the page's key and certificate for those of `names` that the authority may speak for.

    The one kept in `folder` is given again until it is nearly out of date or a name changes.
    Raises UsageError where the authority may speak for none.
    """
    known = tuple(sorted({name.lower() for name in names if authority.permits(name.lower())}))
    # Where others are to reach the page, names that mean each device itself are none.
    if not known or (all(map(_is_own, known)) and not all(map(_is_own, names))):
        message = (
            f"The shop's certificate authority was made for another network or another computer; delete "
            f"{folder / AUTHORITY}: a new one is then made, and every phone has to trust that one anew."
        )
        raise UsageError(message)
    path = folder / LEAF
    if not _still_good(path, authority, known, at):
        _write(path, _signed(authority, known, at))
    return path


def names_in(path: Path) -> tuple[str, ...]:
    """The host names and addresses that the certificate in a PEM file is for. Raises UsageError."""
    try:
        certificate = x509.load_pem_x509_certificate(path.read_bytes())
        told = certificate.extensions.get_extension_for_class(x509.SubjectAlternativeName).value
    except (OSError, ValueError, x509.ExtensionNotFound) as error:
        message = f"{path} is no certificate of a page; name the PEM file with the whole chain."
        raise UsageError(message) from error
    return tuple(str(each.value) for each in told if isinstance(each, x509.DNSName | x509.IPAddress))


def _made(names: Sequence[str], at: datetime) -> list[bytes]:
    """A new authority."""
    key = ec.generate_private_key(ec.SECP256R1())
    hosts = [name.lower() for name in names if _general(name) is not None and _address(name) is None]
    called = next((name for name in hosts if name != "localhost" and "." not in name), hosts[0] if hosts else "shop")
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, f"narrate on {called[:40]}, {at:%Y-%m-%d}")])
    certificate = (
        _begun(subject, subject, key, at, at + AUTHORITY_FOR)
        .add_extension(x509.BasicConstraints(ca=True, path_length=0), critical=True)
        .add_extension(SIGNING, critical=True)
        .add_extension(x509.NameConstraints(_subtrees(hosts, names), None), critical=True)
        .sign(key, hashes.SHA256())
    )
    return [_pem(key), certificate.public_bytes(serialization.Encoding.PEM)]


def _subtrees(hosts: Sequence[str], names: Sequence[str]) -> list[x509.GeneralName]:
    networks: set[Network] = set()
    for address in (each for each in map(_address, names) if each is not None):
        prefix = address.max_prefixlen if address.is_loopback else PREFIX[address.version]
        networks.add(ipaddress.ip_network(f"{address}/{prefix}", strict=False))
    # Where a kind of name has no subtree at all, everything of that kind would be permitted.
    networks = networks or {ipaddress.ip_network("127.0.0.1/32")}
    wanted = hosts or ["localhost"]
    return [*map(x509.DNSName, wanted), *(x509.IPAddress(network) for network in sorted(networks, key=str))]


def _signed(authority: Authority, names: Sequence[str], at: datetime) -> list[bytes]:
    """A key and a certificate for the page."""
    key = ec.generate_private_key(ec.SECP256R1())
    general = [each for each in map(_general, names) if each is not None]
    subject = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, names[0][:60])])
    ends = min(at - CLOCKS_DIFFER + LEAF_FOR - timedelta(seconds=1), authority.certificate.not_valid_after_utc)
    issuer_key = x509.AuthorityKeyIdentifier.from_issuer_public_key(authority.key.public_key())
    certificate = (
        _begun(subject, authority.certificate.subject, key, at, ends)
        .add_extension(x509.BasicConstraints(ca=False, path_length=None), critical=True)
        .add_extension(SERVING, critical=True)
        .add_extension(x509.ExtendedKeyUsage([ExtendedKeyUsageOID.SERVER_AUTH]), critical=False)
        .add_extension(x509.SubjectAlternativeName(general), critical=False)
        .add_extension(issuer_key, critical=False)
        .sign(authority.key, hashes.SHA256())
    )
    return [_pem(key), certificate.public_bytes(serialization.Encoding.PEM)]


def _begun(
    subject: x509.Name, issuer: x509.Name, key: ec.EllipticCurvePrivateKey, at: datetime, ends: datetime
) -> x509.CertificateBuilder:
    return (
        x509.CertificateBuilder()
        .subject_name(subject)
        .issuer_name(issuer)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(at - CLOCKS_DIFFER)
        .not_valid_after(ends)
        .add_extension(x509.SubjectKeyIdentifier.from_public_key(key.public_key()), critical=False)
    )


def _still_good(path: Path, authority: Authority, names: Sequence[str], at: datetime) -> bool:
    try:
        certificate = x509.load_pem_x509_certificate(path.read_bytes())
        certificate.verify_directly_issued_by(authority.certificate)
        return tuple(sorted(names_in(path))) == tuple(names) and certificate.not_valid_after_utc - RENEWED_BEFORE > at
    # Whatever is wrong with it (missing, damaged, another authority's): a new one is made at no cost to anybody.
    except Exception:
        return False


def _read(path: Path) -> Authority:
    try:
        content = path.read_bytes()
        key = serialization.load_pem_private_key(content, None)
        certificate = x509.load_pem_x509_certificate(content)
        # A backup that was put back, or a copy by hand, may have made it readable to others.
        path.chmod(0o600)
    except (OSError, ValueError) as error:
        message = (
            f"{path} cannot be read ({error}); put a copy of it back, or delete it: a new authority is then made, and "
            "every phone has to trust that one anew."
        )
        raise UsageError(message) from error
    if not isinstance(key, ec.EllipticCurvePrivateKey) or key.public_key() != certificate.public_key():
        message = f"{path} holds a key that is not its certificate's; put a copy of it back, or delete it."
        raise UsageError(message)
    return Authority(certificate=certificate, key=key)


def _write(path: Path, parts: Sequence[bytes]) -> None:
    """Key and certificate in one file, so that they always belong together; for nobody else to read."""
    try:
        path.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        with written_whole(path, mode=0o600) as stream:
            stream.write(b"".join(parts))
    except OSError as error:
        message = f"{path} cannot be written ({error.strerror}); check the data folder and its permissions."
        raise UsageError(message) from error


def _pem(key: ec.EllipticCurvePrivateKey) -> bytes:
    return key.private_bytes(
        serialization.Encoding.PEM, serialization.PrivateFormat.PKCS8, serialization.NoEncryption()
    )


def _general(name: str) -> x509.GeneralName | None:
    """A name as certificates hold it; None for what no certificate can hold."""
    address = _address(name)
    if address is not None:
        return x509.IPAddress(address)
    try:
        return x509.DNSName(name.lower())
    except ValueError:
        return None


def _is_own(name: str) -> bool:
    """Whether a name means, on every device, that device itself."""
    address = _address(name)
    return name == "localhost" or (address is not None and address.is_loopback)


def _is_address(name: x509.GeneralName) -> bool:
    return isinstance(name, x509.IPAddress)


def _address(name: str) -> Address | None:
    try:
        return ipaddress.ip_address(name)
    except ValueError:
        return None
