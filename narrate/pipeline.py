"""The order of steps: hear, find, judge. Nothing else knows it."""

import hashlib
import json
from collections.abc import Callable, Sequence
from functools import cache
from importlib.metadata import version
from pathlib import Path

from narrate.find.mining import find_findings
from narrate.find.systems import systems_named
from narrate.find.weights import models_digest
from narrate.hear.recognise import hear
from narrate.hear.weak import hear_weak
from narrate.judge.confidence import calibrated
from narrate.judge.poor_stretches import mark_poor
from narrate.judge.review_order import order_for_review
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.settings import Settings, digest
from narrate.words.hints import names_to_listen_for
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
    recordings = hear_recordings(paths, settings=settings, lexicon=lexicon, progress=progress)
    return process_words(recordings, settings=settings, lexicon=lexicon, order=order)


def hear_recordings(
    paths: Sequence[Path], *, settings: Settings, lexicon: Lexicon, progress: Progress | None = None
) -> list[Recording]:
    """What is said in recordings of one vehicle, doubtful stretches heard twice.

    Raises AudioError and ModelError as `process_recordings` does.
    """
    hints = lexicon.hints if settings.hints else ()
    recordings = [
        hear(path, settings=settings, hints=hints, progress=progress, recording_id=f"r{number}")
        for number, path in enumerate(paths, 1)
    ]
    if settings.hints and settings.second_hearing:
        return listen_closer(paths, recordings, settings=settings, lexicon=lexicon)
    return recordings


def listen_closer(
    paths: Sequence[Path], recordings: Sequence[Recording], *, settings: Settings, lexicon: Lexicon
) -> list[Recording]:
    """Hear what was doubtful once more, listening for parts of the systems that were talked about.

    Systems are taken from all recordings of the vehicle together.
    """
    systems = systems_named(recordings, lexicon)
    hints = names_to_listen_for(lexicon, systems)
    return [
        hear_weak(path, recording, settings=settings, hints=hints)
        for path, recording in zip(paths, recordings, strict=True)
    ]


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
    return order_for_review(mark_poor(calibrated(found)))


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
