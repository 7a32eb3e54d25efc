"""Starting the page: the address, the worker beside it, and stopping both."""

import signal
import socket
import subprocess
import sys
import threading
import webbrowser
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import uvicorn

from narrate.errors import UsageError
from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.review.app import make_app
from narrate.review.desk import Desk, make_desk
from narrate.review.guards import hosts_of, is_loopback
from narrate.review.signin import check_may_open
from narrate.settings import Settings
from narrate.store.engine import Store

LEAVE_OPEN_S = 2
"""Seconds that open connections get when the page is stopped; a page left open would hold it for ever."""


def serve(
    store: Store,
    settings: Settings,
    *,
    host: str,
    port: int,
    worker: bool = True,
    browser: bool = True,
    tell: Callable[[str], None],
) -> None:
    """Serve the page until it is stopped. `tell` is given the address once it answers.

    Raises UsageError for an address that is taken or that may not be opened.
    """
    local = is_loopback(host)
    check_may_open(store, host, local=local)
    listening = _listen(host, port)
    address = f"http://{_shown(host)}:{listening.getsockname()[1]}/"
    desk = make_desk(store, settings, local=local)
    app = make_app(desk, hosts=hosts_of(host))
    config = uvicorn.Config(
        app, log_level="warning", access_log=False, timeout_graceful_shutdown=LEAVE_OPEN_S, server_header=False
    )
    server = uvicorn.Server(config)
    helper = _start_worker(store.folder) if worker else None
    threading.Thread(target=_when_up, args=(server, address, browser, tell), daemon=True).start()
    # No daemon: one that is cut off inside the encoder's own code takes the whole program down as it ends.
    threading.Thread(target=_make_ready, args=(desk,)).start()
    try:
        with _stopped_gently(server):
            server.run(sockets=[listening])
    finally:
        if helper:
            helper.terminate()
            helper.wait()


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
    if host in ("0.0.0.0", "::"):
        return socket.gethostname()
    return f"[{host}]" if ":" in host else host


def _start_worker(folder: Path) -> subprocess.Popen[bytes]:
    """Recordings are heard in a process of their own, so that the page stays quick."""
    return subprocess.Popen(
        [sys.executable, "-c", "from narrate.cli.main import main; main()", "worker", "--data", str(folder)]
    )


def _make_ready(desk: Desk) -> None:
    """Read the words and weights that the first correction needs, seconds of work, before anyone waits for them."""
    process_words([text_recording("front brake pads are worn")], settings=desk.settings, lexicon=desk.lexicon())


def _when_up(server: uvicorn.Server, address: str, browser: bool, tell: Callable[[str], None]) -> None:
    started = threading.Event()
    while not server.started and not server.should_exit:
        started.wait(0.05)
    if server.started:
        tell(address)
        if browser:
            webbrowser.open(address)
