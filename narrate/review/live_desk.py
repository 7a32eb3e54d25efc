"""All live hearing of one page: its helpers, and what was said so far of each recording."""

import time
from collections import OrderedDict
from dataclasses import dataclass, field

from starlette.datastructures import State

from narrate.review.desk import Desk
from narrate.work.live_aloud import Message
from narrate.work.live_helper import Helper, Helpers

KEPT_S = 3600.0
"""How long what was said so far is kept for a phone that lost its connection."""
KEPT_TALKS = 50


@dataclass
class Talk:
    """What one recording's live hearing kept, whichever process did it."""

    so_far: list[Message] = field(default_factory=list)
    used_at: float = 0.0


class LiveDesk:
    """All live hearing of one page."""

    def __init__(self, helpers: Helpers) -> None:
        self.helpers = helpers
        self._talks: OrderedDict[str, Talk] = OrderedDict()

    def talk(self, key: str) -> Talk:
        """What was said so far of a recording; that of others is let go of in time."""
        now = time.monotonic()
        while self._talks and (
            len(self._talks) >= KEPT_TALKS or now - next(iter(self._talks.values())).used_at > KEPT_S
        ):
            self._talks.popitem(last=False)
        talk = self._talks.setdefault(key, Talk())
        talk.used_at = now
        self._talks.move_to_end(key)
        return talk


def live_desk(state: State, desk: Desk) -> LiveDesk:
    """The page's live hearing, made when it is first asked for. Call from the page's own thread."""
    made: LiveDesk | None = getattr(state, "live", None)
    if made is None:
        settings = desk.settings
        made = state.live = LiveDesk(Helpers(lambda: Helper(desk.store.folder, settings)))
    return made


def end_live(state: State) -> None:
    """End all helpers of a page."""
    made: LiveDesk | None = getattr(state, "live", None)
    if made:
        made.helpers.close()
