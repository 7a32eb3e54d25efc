"""What every request passes before the page sees it: known host, same site, bearable size; and the headers of answers.

The page holds a shop's recordings and runs on a computer whose browser visits other sites too. Those sites can
make that browser send requests here, so a request is refused unless it is addressed to a name this page goes by
(which ends tricks with changing name servers) and, where it changes something, comes from this very page.
"""

import ipaddress
import socket
from collections.abc import Iterable, Mapping
from fnmatch import fnmatchcase
from typing import NamedTuple
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.exceptions import HTTPException
from starlette.responses import JSONResponse, PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

OWN_HOSTS = frozenset({"127.0.0.1", "localhost", "::1"})
MOST_BYTES = 1_000_000
"""The largest body of a request, where `LARGE_BODIES` does not say otherwise."""
LARGE_BODIES: Mapping[str, int] = {
    "/api/recordings": 8_000_000_000,
    "/api/walkarounds/*/attachments": 50_000_000,
    "/api/captures/*/runs/*/pieces/*": 5_000_000,
    "/api/captures/*/photos/*": 50_000_000,
    "/orders/import": 10_000_000,
    "/prices/import": 20_000_000,
}
"""Bytes that a whole request may have, by path; `*` stands for anything."""
READING = frozenset({"GET", "HEAD"})
POLICY = "; ".join(
    (
        "default-src 'none'",
        "script-src 'self'",
        "style-src 'self'",
        "img-src 'self' data: blob:",
        "media-src 'self' blob:",
        "connect-src 'self'",
        "font-src 'self'",
        "manifest-src 'self'",
        "worker-src 'self'",
        "form-action 'self'",
        "base-uri 'none'",
        "frame-ancestors 'none'",
    )
)
HEADERS: Mapping[str, str] = {
    "content-security-policy": POLICY,
    "x-content-type-options": "nosniff",
    # Not no-referrer: under that, browsers name the origin of our own forms "null" wherever they do not send
    # Sec-Fetch-Site, which is every shop network without TLS. Other sites get no referrer under either.
    "referrer-policy": "same-origin",
    "permissions-policy": "microphone=(self), camera=(self)",
    "cross-origin-resource-policy": "same-origin",
}
NEVER_KEPT = ("text/html", "text/plain", "application/json")
"""Kinds of content that browsers are told not to store, unless the answer says something about it itself."""


class Refusal(NamedTuple):
    """Why a request goes no further: the HTTP status and one sentence."""

    status: int
    sentence: str


class TooLargeError(HTTPException):
    """The body has more bytes than its path may have."""

    def __init__(self, limit: int) -> None:
        super().__init__(413, f"This is more than the {_megabytes(limit)} that can be sent here at once; send less.")


def is_loopback(host: str) -> bool:
    """Whether only this computer can reach a page bound to `host` (a name or an address)."""
    if host == "localhost":
        return True
    address = _address(host)
    return address is not None and address.is_loopback


def hosts_of(bound_to: str) -> frozenset[str]:
    """The names a page bound to `bound_to` goes by, besides the address that a connection itself reached."""
    address = _address(bound_to)
    if is_loopback(bound_to):
        return OWN_HOSTS | {bound_to.strip("[]").lower()}
    if address is not None and not address.is_unspecified:
        return OWN_HOSTS | {str(address)}
    name = (socket.gethostname() if address is not None else bound_to).lower()
    return OWN_HOSTS | {name, f"{name.split('.')[0]}.local"}


class Guards:
    """ASGI middleware, to be put around everything else (also around what answers errors).

    `hosts` are the names the page goes by (`hosts_of`); `large` says how many bytes a body may have where it is
    not `MOST_BYTES`.
    """

    def __init__(
        self, app: ASGIApp, *, hosts: Iterable[str] = OWN_HOSTS, large: Mapping[str, int] = LARGE_BODIES
    ) -> None:
        self.app = app
        self.hosts = frozenset(host.lower() for host in hosts)
        self.large = large

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let the request through, or answer it with a refusal; either way with the headers."""
        if scope["type"] not in ("http", "websocket"):
            await self.app(scope, receive, send)
            return
        send = _with_headers(send)
        refusal = foreign_host(scope, self.hosts) or foreign_site(scope)
        if refusal:
            await _refuse(refusal, scope, receive, send)
        elif scope["type"] == "websocket":
            await self.app(scope, receive, send)
        else:
            await self._limited(scope, receive, send)

    async def _limited(self, scope: Scope, receive: Receive, send: Send) -> None:
        limit = next((most for path, most in self.large.items() if fnmatchcase(scope["path"], path)), MOST_BYTES)
        too_large = TooLargeError(limit)
        refusal = Refusal(too_large.status_code, too_large.detail)
        declared = Headers(scope=scope).get("content-length", "0")
        if not declared.isdecimal() or int(declared) > limit:
            await _refuse(refusal, scope, receive, send)
            return
        seen, began = 0, False

        async def counted() -> Message:
            nonlocal seen
            message = await receive()
            seen += len(message.get("body", b""))
            if seen > limit:
                raise too_large
            return message

        async def held_back(message: Message) -> None:
            # Whatever the page makes of a body that broke off: the answer is that it was too large.
            nonlocal began
            if seen > limit and not began:
                return
            began = True
            await send(message)

        try:
            await self.app(scope, counted, held_back)
        except Exception:
            if seen <= limit or began:
                raise
        if seen > limit and not began:
            await _refuse(refusal, scope, receive, send)


def foreign_host(scope: Scope, hosts: frozenset[str]) -> Refusal | None:
    """Refuse what is not addressed to one of `hosts` or to the very address that the connection reached."""
    named = Headers(scope=scope).getlist("host")
    host = _split(f"//{named[0]}")[0] if len(named) == 1 and not set(named[0]) & set("@/?#\\") else None
    reached = str((scope.get("server") or ("",))[0])
    if host and (host in hosts or (_address(host) is not None and _address(host) == _address(reached))):
        return None
    return Refusal(400, "This page does not go by that name; open it at the address that narrate printed.")


def foreign_site(scope: Scope) -> Refusal | None:
    """Refuse what another site makes the browser send: anything but reading, and every live connection.

    Browsers tell where a request comes from; what tells nothing is no browser and carries nobody's cookie unasked.
    """
    if scope["type"] == "http" and scope["method"] in READING:
        return None
    headers = Headers(scope=scope)
    site = headers.get("sec-fetch-site")
    origin = headers.get("origin")
    if site is not None:
        own = site in ("same-origin", "none")
    elif origin is not None:
        scheme = "https" if urlsplit(origin).scheme in ("https", "wss") else "http"
        own = _split(origin) == _split(f"{scheme}://{headers.get('host', '')}")
    else:
        own = True
    return None if own else Refusal(403, "Another site sent this; open narrate's own page and do it there.")


def _split(address: str) -> tuple[str | None, int | None]:
    """Host in small letters and port (that of the scheme where none is said); nothing where it is no address."""
    try:
        parts = urlsplit(address)
        return parts.hostname, parts.port or {"http": 80, "https": 443}.get(parts.scheme)
    except ValueError:
        return None, None


def _address(host: str) -> ipaddress.IPv4Address | ipaddress.IPv6Address | None:
    try:
        address = ipaddress.ip_address(host.strip("[]"))
    except ValueError:
        return None
    return getattr(address, "ipv4_mapped", None) or address


def _megabytes(count: int) -> str:
    return f"{count / 1_000_000:,.0f} MB"


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] in ("http.response.start", "websocket.http.response.start"):
            headers = MutableHeaders(scope=message)
            for name, value in HEADERS.items():
                # A paper that holds its own style says so itself; whoever writes such an answer is ours.
                if name != "content-security-policy" or name not in headers:
                    headers[name] = value
            if headers.get("content-type", NEVER_KEPT[0]).startswith(NEVER_KEPT):
                headers.setdefault("cache-control", "no-store")
        await send(message)

    return sending


async def _refuse(refusal: Refusal, scope: Scope, receive: Receive, send: Send) -> None:
    answer: Response = PlainTextResponse(refusal.sentence, refusal.status)
    if scope["path"].startswith("/api/"):
        answer = JSONResponse({"detail": refusal.sentence}, refusal.status)
    if scope["type"] == "websocket":
        await receive()
        if "websocket.http.response" not in scope.get("extensions", {}):
            await send({"type": "websocket.close", "code": 1008, "reason": refusal.sentence})
            return
    await answer(scope, receive, send)
