"""Starting the page: the address, the worker beside it, and stopping both."""

import signal
import socket
import subprocess
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, contextmanager, nullcontext
from dataclasses import dataclass
from pathlib import Path

import uvicorn

from narrate.errors import UsageError
from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.review.addresses import as_host
from narrate.review.app import make_app
from narrate.review.desk import Desk, Trust, make_desk
from narrate.review.guards import hosts_of, is_loopback
from narrate.review.secure_serving import Secured, secure, served_beside
from narrate.review.signin import check_may_open
from narrate.review.trust_page import make_trust_app
from narrate.settings import Settings
from narrate.store.engine import Store

LAST_PORT = 65535
LEAVE_OPEN_S = 2
"""Seconds that open connections get when the page is stopped; a page left open would hold it for ever."""


@dataclass(frozen=True, kw_only=True)
class Answers:
    """Where the page answers."""

    page: str
    trust: str | None = None
    """Where devices take the shop's certificate, and its SHA-256 fingerprint."""
    fingerprint: str | None = None
    left_out: tuple[str, ...] = ()
    """Names and addresses for which the shop's authority cannot speak."""


def serve(
    store: Store,
    settings: Settings,
    *,
    host: str,
    port: int,
    worker: bool = True,
    browser: bool = True,
    secured: Secured | None = None,
    tell: Callable[[Answers], None],
) -> None:
    """Serve the page until it is stopped. `tell` is given its addresses once it answers.

    Raises UsageError for an address that is taken or that may not be opened.
    """
    local = is_loopback(host)
    check_may_open(store, host, local=local)
    listening = _listen(host, port)
    page_port = listening.getsockname()[1]
    # A certificate from elsewhere is for names that this computer need not know that it has.
    hosts = hosts_of(host) | frozenset(secured.names if secured and not secured.authority else ())
    authority = secured.authority if secured else None
    beside: AbstractContextManager[None] = nullcontext()
    trust = None
    if authority:
        learning = _listen(host, port and port % LAST_PORT + 1)
        trust = Trust(port=learning.getsockname()[1], called=authority.name, fingerprint=authority.fingerprint)
    desk = make_desk(store, settings, local=local, trust=trust)
    if authority:
        beside = served_beside(make_trust_app(desk, authority, hosts=hosts, page_port=page_port), learning)
    config = uvicorn.Config(
        make_app(desk, hosts=hosts),
        log_level="warning",
        access_log=False,
        timeout_graceful_shutdown=LEAVE_OPEN_S,
        server_header=False,
    )
    if secured:
        secure(config, secured)
    server = uvicorn.Server(config)
    helper = _start_worker(store.folder) if worker else None
    answers = _answers(_named(host, secured), page_port, secured, trust)
    threading.Thread(target=_when_up, args=(server, answers, browser, tell), daemon=True).start()
    # No daemon: one that is cut off inside the encoder's own code takes the whole program down as it ends.
    threading.Thread(target=_make_ready, args=(desk,)).start()
    try:
        with _stopped_gently(server), beside:
            server.run(sockets=[listening])
    finally:
        if helper:
            helper.terminate()
            helper.wait()


def _answers(name: str, port: int, secured: Secured | None, trust: Trust | None) -> Answers:
    page = f"{'https' if secured else 'http'}://{name}:{port}/"
    if trust is None or secured is None:
        return Answers(page=page)
    begin = f"http://{name}:{trust.port}/"
    return Answers(page=page, trust=begin, fingerprint=trust.fingerprint, left_out=secured.left_out)


def _named(host: str, secured: Secured | None) -> str:
    """What to call the page: as it is bound, or as its certificate from elsewhere says."""
    named = secured.names if secured and not secured.authority else ()
    return as_host(named[0]) if named else _shown(host)


@contextmanager
def _stopped_gently(server: uvicorn.Server) -> Iterator[None]:
    """Let a signal end the server and nothing more: uvicorn would end the process before its worker."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return

    def stop(_signal: int, _frame: object) -> None:
        server.should_exit = True

    before = {number: signal.signal(number, stop) for number in (signal.SIGINT, signal.SIGTERM)}
    try:
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


def _listen(host: str, port: int) -> socket.socket:
    try:
        family = socket.AF_INET6 if ":" in host else socket.AF_INET
        listening = socket.socket(family, socket.SOCK_STREAM)
        listening.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        listening.bind((host, port))
    except OSError as error:
        message = f"The page cannot listen at {host}, port {port} ({error.strerror}); choose another with --port."
        raise UsageError(message) from error
    return listening


def _shown(host: str) -> str:
    return socket.gethostname() if host in ("0.0.0.0", "::") else as_host(host)


def _start_worker(folder: Path) -> subprocess.Popen[bytes]:
    """Recordings are heard in a process of their own, so that the page stays quick."""
    return subprocess.Popen(
        [sys.executable, "-c", "from narrate.cli.main import main; main()", "worker", "--data", str(folder)]
    )


def _make_ready(desk: Desk) -> None:
    """Read the words and weights that the first correction needs, seconds of work, before anyone waits for them."""
    process_words([text_recording("front brake pads are worn")], settings=desk.settings, lexicon=desk.lexicon())


def _when_up(server: uvicorn.Server, answers: Answers, browser: bool, tell: Callable[[Answers], None]) -> None:
    started = threading.Event()
    while not server.started and not server.should_exit:
        started.wait(0.05)
    if server.started:
        tell(answers)
        if browser:
            webbrowser.open(answers.page)
