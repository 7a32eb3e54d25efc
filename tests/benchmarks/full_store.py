"""For the benchmark of the page: a long walk-round, and stores with very many."""

import hashlib
import json
from collections.abc import Sequence
from itertools import chain

from find_speed import narrations

from narrate.find.mining import text_recording
from narrate.pipeline import process_words
from narrate.records.recording import Recording
from narrate.records.walkaround import Walkaround
from narrate.settings import Settings
from narrate.store.chain import canonical
from narrate.store.engine import Store
from narrate.store.folding import plain
from narrate.store.keeping import stream_of
from narrate.store.listed import columns
from narrate.store.tables import content, event, heard, walkaround
from narrate.words.lexicon import Lexicon

MINUTES, WORDS, FINDINGS = 30, 4500, 60
"""A long walk-round: that many words in so many minutes, with so many findings."""
ORDINARY = 12
"""Findings of each of the many."""
DAY = "2026-11-{:02}T{:02}:{:02}:00.000Z"
PLATES = "ABCDEFGHJKLMNPRSTUVWXYZ"


def spoken(texts: Sequence[str], words: int, minutes: float) -> Recording:
    """Texts one after the other as a recording with times."""
    text = " ".join(chain.from_iterable(each.split() for each in texts)).split()[:words]
    step = minutes * 60 / len(text)
    recording = text_recording(" ".join(text), name="bay.ogg")
    timed = (
        word.model_copy(
            update={"start_s": round(n * step, 2), "end_s": round((n + 0.8) * step, 2), "probability": 0.95}
        )
        for n, word in enumerate(recording.words)
    )
    return recording.model_copy(update={"words": tuple(timed), "duration_s": minutes * 60})


def found_in(texts: Sequence[str], lexicon: Lexicon, findings: int) -> Walkaround:
    """What is found in as many of the texts as give so many findings, without those beyond."""
    recording = spoken(texts, WORDS, MINUTES)
    words = recording.words
    begin = findings * 8
    while True:
        part = recording.model_copy(update={"words": words[:begin]})
        made = process_words([part], settings=Settings(), lexicon=lexicon)
        if len(made.findings) >= findings or begin >= len(words):
            break
        begin = min(len(words), begin + findings * 2)
    kept = made.findings[:findings]
    order = tuple(id_ for id_ in made.review_order if id_ in {finding.id for finding in kept})
    return made.model_copy(update={"findings": kept, "review_order": order, "contradictions": ()})


def long_walkaround(lexicon: Lexicon) -> Walkaround:
    """Thirty minutes of words with sixty findings; what is said behind the last of them is talk."""
    texts = narrations()
    made = found_in(texts, lexicon, FINDINGS)
    return made.model_copy(update={"recordings": (spoken(texts, WORDS, MINUTES),)})


def ordinary_walkaround(lexicon: Lexicon) -> Walkaround:
    """A few minutes with a dozen findings."""
    return found_in(narrations()[60:], lexicon, ORDINARY).model_copy(update={"order_number": "R-1"})


def fill(store: Store, like: Walkaround, count: int) -> None:
    """Put copies of a walkaround straight into the tables until there are `count`, each of another vehicle.

    Each has one event; the chain of events is one to look at, not one to verify.
    """
    with store.reading() as connection:
        begin = connection.exec_driver_sql("SELECT coalesce(max(id), 0) FROM walkaround").scalar_one() + 1
        number = connection.exec_driver_sql("SELECT coalesce(max(number), 0) FROM event").scalar_one()
    for first in range(begin, count + 1, 500):
        rows = [_row(like, n) for n in range(first, min(first + 500, count + 1))]
        with store.writing() as connection:
            bodies, events = [], []
            for row in rows:
                number += 1
                row["revision"] = number
                digest = hashlib.sha256(f"{number}".encode()).hexdigest()
                before = hashlib.sha256(f"before {number}".encode()).hexdigest()
                bodies.append({"digest": digest, "body": json.dumps({"salt": number})})
                told = {"stream": stream_of(f"w{row['id']}"), "at": row["added_at"], "who": "Ana", "what": "heard"}
                events.append({"number": number, **told, "content": digest, "previous": before, "digest": digest})
            connection.execute(content.insert(), bodies)
            connection.execute(event.insert(), events)
            connection.execute(walkaround.insert(), rows)
            words = canonical(like.recordings[0].model_dump(mode="json"))
            connection.execute(
                heard.insert(), [{"walkaround_id": r["id"], "recording_id": "r1", "record": words} for r in rows]
            )


def plate(number: int) -> str:
    """The plate of the copy of this number."""
    letters = "".join(PLATES[number // len(PLATES) ** place % len(PLATES)] for place in range(3))
    return f"{letters}-{number:05}"


def _row(like: Walkaround, number: int) -> dict[str, object]:
    at = DAY.format(1 + number % 27, number % 24, number % 60)
    vehicle = like.vehicle.model_copy(update={"plate": plate(number), "make": "Toyota", "model": "Corolla"})
    own = {"id": f"w{number}", "vehicle": vehicle, "order_number": f"R-{number}"}
    made = like.model_copy(update=own)
    # One in five waits, the others were signed.
    state = "to_check" if number % 5 == 0 else "signed"
    kept = {"id": number, "state": state, "added_at": at, "changed_at": at, "record": canonical(plain(made))}
    return {**kept, **columns(made, added_at=at)}
