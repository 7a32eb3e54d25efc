"""Once a day, beside other work: what the shop's rule no longer keeps is forgotten."""

import logging
import threading
from collections.abc import Iterator
from contextlib import contextmanager

from narrate.errors import NarrateError
from narrate.store.engine import Store
from narrate.store.forgetting import finish_forgetting, sweep
from narrate.store.retention import forget_due
from narrate.work.logs import tell

DAY_S = 86_400.0
AGAIN_S = 3600.0
"""After so long it is tried again where it failed."""
FIRST_S = 30.0
"""So long after the start: a worker that has just been started has recordings to hear first."""
_log = logging.getLogger(__name__)


@contextmanager
def forgetting_daily(store: Store) -> Iterator[None]:
    """Forget what is due in a thread, soon and then every day, until the block is left. An event tells of each."""
    over = threading.Event()
    thread = threading.Thread(target=_daily, args=(store, over), name="forgetting", daemon=True)
    thread.start()
    try:
        yield
    finally:
        over.set()
        thread.join()


def _daily(store: Store, over: threading.Event) -> None:
    wait_s = FIRST_S
    while not over.wait(wait_s):
        try:
            finish_forgetting(store)
            sweep(store)
            for plan in forget_due(store):
                tell(_log, "forgotten", {"count": len(plan.recordings) + len(plan.walkarounds) + len(plan.estimates)})
                if over.is_set():
                    return
            wait_s = DAY_S
        except (NarrateError, OSError) as error:
            _log.warning("%s", error)
            wait_s = AGAIN_S
