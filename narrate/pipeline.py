"""The order of steps: hear, find, judge. Nothing else knows it."""

import hashlib
import json
from collections.abc import Callable, Sequence
from datetime import date
from functools import cache
from importlib.metadata import version
from itertools import count
from pathlib import Path

from narrate.find.mining import find_findings
from narrate.find.systems import systems_named
from narrate.find.weights import models_digest
from narrate.hear.recognise import hear
from narrate.hear.weak import hear_weak
from narrate.judge.carrying_out import carry_out
from narrate.judge.confidence import calibrated
from narrate.judge.judging import Asked, judge
from narrate.judge.poor_stretches import mark_poor
from narrate.judge.review_order import order_for_review
from narrate.records.order import Order
from narrate.records.recording import Recording
from narrate.records.walkaround import Concern, MadeBy, Walkaround
from narrate.settings import Settings, digest
from narrate.words.hints import names_to_listen_for
from narrate.words.lexicon import Lexicon
from narrate.words.rules import Rules, load_rules
from narrate.words.shop_rules import lay_shop_rules_over

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
    ready = carry_out(mark_poor(calibrated(found)))
    return order_for_review(judge_walkaround(ready, settings=here, lexicon=lexicon, order=order))


def judge_walkaround(
    walkaround: Walkaround,
    *,
    settings: Settings,
    lexicon: Lexicon,
    order: Order | None = None,
    previous: Walkaround | None = None,
    today: date | None = None,
) -> Walkaround:
    """Hold a walkaround's numbers against limits, compare, suggest, and say what is missing and how soon it is due.

    The rule set is the settings', else that of the settings' market. today: None takes the clock's.
    Raises LexiconError for bad rules, UsageError for bad rules of the shop's or a previous visit of another vehicle.
    """
    rules = rules_of(settings, lexicon)
    asked = Asked(
        rule_set=settings.rule_set or rules.set_for(settings.market),
        inspection=bool(order and order.inspection),
        previous=previous,
        today=today or date.today(),
    )
    return judge(walkaround, rules, lexicon, asked)


def with_order(walkaround: Walkaround, order: Order) -> Walkaround:
    """The walkaround with what its order adds: its number, and concerns that are not listed yet, still open."""
    known = {concern.text.casefold() for concern in walkaround.concerns}
    told = {text.casefold(): text for text in reversed(order.concerns)}
    new = [text for key, text in reversed(told.items()) if key not in known]
    taken = {concern.id for concern in walkaround.concerns}
    ids = (name for number in count(1) if (name := f"c{number}") not in taken)
    added = tuple(Concern(id=next(ids), text=text, origin="order") for text in new)
    number = walkaround.order_number or order.number
    return walkaround.model_copy(update={"order_number": number, "concerns": (*walkaround.concerns, *added)})


def rules_of(settings: Settings, lexicon: Lexicon) -> Rules:
    """The rules, with the shop's own over them."""
    rules = load_rules(lexicon)
    return lay_shop_rules_over(rules, settings.shop_rules, lexicon) if settings.shop_rules else rules


def made_by(settings: Settings, lexicon: Lexicon) -> MadeBy:
    """What a walkaround made now depends on."""
    return MadeBy(
        program=_program(),
        lexicon=lexicon.digest,
        settings=digest(settings),
        rules=rules_of(settings, lexicon).digest,
        joining=models_digest(),
    )


@cache
def _program() -> str:
    return f"narrate {version('narrate')}"


def work_key(audio_sha256: Sequence[str], settings: Settings, lexicon: Lexicon, order: Order | None) -> str:
    """The same audio, model, lexicon, settings and order give the same key, and need no second run."""
    return key_of_work(audio_sha256, made_by(settings, lexicon), order)


def key_of_work(audio_sha256: Sequence[str], made: MadeBy, order: Order | None) -> str:
    """The key of work that is done already: `made` is what it was made by."""
    parts = [*audio_sha256, *made.model_dump().values(), order and order.model_dump_json()]
    return hashlib.sha256(json.dumps(parts).encode()).hexdigest()
