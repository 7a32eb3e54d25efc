"""The order of steps: hear, find, judge. Nothing else knows it."""

import hashlib
import json
from collections.abc import Callable, Sequence
from functools import cache
from importlib.metadata import version
from pathlib import Path

from narrate.find.mining import find_findings
from narrate.find.weights import models_digest
from narrate.hear.recognise import hear
from narrate.judge.review_order import order_for_review
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.settings import Settings, digest
from narrate.words.lexicon import Lexicon

Progress = Callable[[float, float], None]
"""Called with (seconds done, seconds in all)."""


def process_recordings(
    paths: Sequence[Path],
    *,
    settings: Settings,
    lexicon: Lexicon,
    order: Order | None = None,
    progress: Progress | None = None,
) -> Walkaround:
    """Recordings of one vehicle become a judged walkaround.

    Raises AudioError for a recording that cannot be used, ModelError for a model that cannot be loaded.
    """
    hints = lexicon.hints if settings.hints else ()
    recordings = [
        hear(path, settings=settings, hints=hints, progress=progress, recording_id=f"r{number}")
        for number, path in enumerate(paths, 1)
    ]
    return process_words(recordings, settings=settings, lexicon=lexicon, order=order)


def process_words(
    recordings: Sequence[Recording], *, settings: Settings, lexicon: Lexicon, order: Order | None = None
) -> Walkaround:
    """Words that were heard or typed become a judged walkaround."""
    market = (order and order.market) or settings.market
    # An order from another market seats the driver on that market's side, unless someone said where.
    here = settings.model_copy(update={"market": market})
    side = (order and order.drive_side) or here.driver_sits
    found = find_findings(
        recordings,
        lexicon=lexicon,
        made_by=made_by(settings, lexicon),
        market=market,
        drive_side=side,
        order=order,
    )
    return order_for_review(found)


def made_by(settings: Settings, lexicon: Lexicon) -> MadeBy:
    """What a walkaround made now depends on."""
    return MadeBy(
        program=_program(),
        lexicon=lexicon.digest,
        settings=digest(settings),
        joining=models_digest(),
    )


@cache
def _program() -> str:
    return f"narrate {version('narrate')}"


def work_key(audio_sha256: Sequence[str], settings: Settings, lexicon: Lexicon, order: Order | None) -> str:
    """The same audio, model, lexicon, settings and order give the same key, and need no second run."""
    parts = [
        *audio_sha256,
        *made_by(settings, lexicon).model_dump().values(),
        order and order.model_dump_json(),
    ]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()
