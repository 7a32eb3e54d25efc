"""Connections that devices trust: with the shop's own authority, or with a certificate it got elsewhere."""

import asyncio
import logging
import ssl
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from socket import socket

import uvicorn
from starlette.types import ASGIApp

from narrate.errors import NarrateError, UsageError
from narrate.review.addresses import reached_at
from narrate.review.certificates import Authority, names_in, page_certificate, shop_authority
from narrate.review.guards import hosts_of

FOLDER = "tls"
"""Of the data folder."""
EVERYWHERE = "0.0.0.0"
LOOKED_AT_EVERY_S = 3600
"""How often the certificate is renewed if need be: it ends, or the computer got another address."""
logger = logging.getLogger(__name__)


@dataclass(frozen=True, kw_only=True)
class Secured:
    """How the page's connections are made safe."""

    chain: Path
    """PEM: the page's certificate and what leads up to its authority; the key too, where `key` is None."""
    key: Path | None
    names: tuple[str, ...]
    """What the certificate is for, the name to tell people first."""
    authority: Authority | None = None
    """The shop's own, which devices must be told to trust."""
    left_out: tuple[str, ...] = ()
    """Names and addresses under which the page may be opened, and for which that authority cannot speak."""
    renew: Callable[[], Path] | None = None
    """Look after the certificate; the file that holds it."""


def own_authority(data: Path, host: str) -> Secured:
    """Make or renew the shop's own certificates for a page bound to `host`. Raises UsageError."""
    folder = data / FOLDER

    def names() -> tuple[str, ...]:
        return reached_at(host, hosts_of(host))

    # Also for the network where the page is for this computer alone today: the authority lasts for years.
    everywhere = reached_at(EVERYWHERE, hosts_of(EVERYWHERE))
    authority = shop_authority(folder, (*everywhere, *names()), at=_now())

    def renew() -> Path:
        return page_certificate(folder, authority, names(), at=_now())

    chain = renew()
    known = names_in(chain)
    left_out = tuple(name for name in names() if name.lower() not in known)
    return Secured(chain=chain, key=None, names=known, authority=authority, renew=renew, left_out=left_out)


def given_certificate(chain: Path, key: Path) -> Secured:
    """Use a certificate the shop got elsewhere. Raises UsageError where it cannot be used."""
    names = names_in(chain)
    try:
        ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER).load_cert_chain(chain, key)
    except (OSError, ssl.SSLError) as error:
        message = (
            f"{chain} and {key} are no certificate and its key ({error}); name the PEM files that belong together."
        )
        raise UsageError(message) from error
    return Secured(chain=chain, key=key, names=tuple(name for name in names if "*" not in name))


def secure(config: uvicorn.Config, secured: Secured) -> None:
    """Let a server speak TLS, and look after its certificate while it runs."""
    config.ssl_certfile = secured.chain
    config.ssl_keyfile = secured.key
    config.timeout_notify = LOOKED_AT_EVERY_S
    config.callback_notify = lambda: _renewed(config, secured)


async def _renewed(config: uvicorn.Config, secured: Secured) -> None:
    """Connections made from now on get the certificate as it is now; a shop's own may have been replaced, too."""
    try:
        chain = secured.renew() if secured.renew else secured.chain
        if config.ssl:
            config.ssl.load_cert_chain(chain, secured.key)
    except (NarrateError, OSError) as error:
        logger.warning("The page's certificate could not be renewed: %s", error)


@contextmanager
def served_beside(app: ASGIApp, listening: socket) -> Iterator[None]:
    """Serve a second, small application in a thread, until the block ends."""
    config = uvicorn.Config(app, log_level="warning", access_log=False, server_header=False, lifespan="off")
    server = uvicorn.Server(config)
    thread = threading.Thread(target=lambda: asyncio.run(server.serve(sockets=[listening])), daemon=True)
    thread.start()
    try:
        yield
    finally:
        server.should_exit = True
        thread.join(timeout=5)


def _now() -> datetime:
    return datetime.now(UTC).replace(microsecond=0)
