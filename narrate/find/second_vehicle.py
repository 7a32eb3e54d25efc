"""Where the technician plainly begins another vehicle in the same recording.

Never another vehicle's story, a comparison or the customer's other car: a wrong cut tears findings apart, a missed
one leaves a long list that a person still reads.
"""

from bisect import bisect_left
from dataclasses import replace

from narrate.find.draft import Draft
from narrate.find.heading import Heading, heading_from
from narrate.find.talk import Talk, talk_of
from narrate.find.vehicle_names import read_name
from narrate.find.vocabulary import Vocabulary

STORY_REACH = 12
"""How many tokens from the first word on are searched for signs of a story."""
KIND_REACH = 3
"""How many words may stand before the kind of vehicle: "the little silver van"."""
HEADING_REACH = 14
"""How many tokens behind the kind of vehicle its number, plate or distance may stand."""
OPENING = 8
"""How many tokens the words that begin another vehicle take at most."""
PAUSE = 0.6
ARTICLES = ("the", "a", "an", "this", "our", "that")
NUMBERS = ("two", "three", "four", "2", "3", "4")


def vehicle_starts(draft: Draft, vocabulary: Vocabulary) -> tuple[int, ...]:
    """The tokens at which the second vehicle, a third, … begins; none in most recordings."""
    talk = talk_of(draft, vocabulary)
    parts = sorted(m.last for m in draft.mentions if m.family == "component")
    strong = {gap.first for gap in draft.gaps if gap.strength >= PAUSE}
    first = heading_from(talk, 0)
    starts: list[int] = []
    at = 1
    while at < len(talk.words):
        since = starts[-1] if starts else 0
        named = bisect_left(parts, at) > bisect_left(parts, since)
        if named and _opens(talk, at, strong) and _begins(talk, at, first):
            starts.append(at)
            at += KIND_REACH
        at += 1
    return tuple(starts)


def hush_opening(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """The stage for the words of a second vehicle: "the other car" that opens them tells no other vehicle's story."""
    kept = tuple(m for m in draft.mentions if not (m.key == "other_vehicle" and m.first < OPENING))
    return replace(draft, mentions=kept)


def _opens(talk: Talk, at: int, strong: set[int]) -> bool:
    """Whether a thought begins at a token: behind a full stop or pause, or with a word that opens one."""
    marked = talk.phrase("vehicle_marker", at) is not None or talk.phrase("vehicle_moves", at) is not None
    return at in strong or talk.stops_at(at) or marked or talk.ends_at(at)


def _begins(talk: Talk, at: int, first: Heading) -> bool:
    start, marked = at, False
    while end := talk.phrase("vehicle_marker", start):
        start, marked = end, True
    moves = talk.phrase("vehicle_moves", start)
    named = talk.phrase("vehicle_next_one", start)
    end = (
        (_kind_within(talk, named) if named else None)
        or _other_one(talk, moves or start, moved=moves is not None or marked)
        or _numbered(talk, moves or start)
        or (_announced(talk, moves, first) if moves else None)
        or _new_number(talk, start, first)
    )
    return end is not None and not _is_story(talk, at)


def _is_story(talk: Talk, at: int) -> bool:
    for number in range(at, min(at + STORY_REACH, len(talk.words))):
        if number > at + 2 and talk.stops_at(number):
            return False
        if talk.phrase("vehicle_story", number):
            return True
    return False


def _kind(talk: Talk, at: int) -> int | None:
    """The token after a kind, make or model of vehicle at a token."""
    body = talk.phrase("heading_body", at)
    name = None if body else read_name(talk, at, awaited=True)
    return body or (name.end if name else None)


def _kind_within(talk: Talk, at: int) -> int | None:
    """The token after the kind of vehicle that follows, an article and a few words before it at most."""
    start = at + 1 if talk.word(at) in ARTICLES else at
    for number in range(start, start + KIND_REACH + 1):
        end = _kind(talk, number)
        if end:
            return end
        if talk.stops_at(number + 1):
            return None
    return None


def _other_one(talk: Talk, at: int, *, moved: bool) -> int | None:
    """ "(on to) the next car", "second van now", "other car, job 4410"."""
    start = at + 1 if talk.word(at) in ARTICLES else at
    end = talk.phrase("vehicle_other", start)
    if end is None:
        return None
    kind = talk.phrase("heading_body", end)
    if kind is None and moved and talk.word(end) == "one":
        # "switching to the next one, the green estate"
        return _kind_within(talk, end + 1)
    if kind is None:
        return None
    begins = talk.phrase("vehicle_begins", kind)
    closed = talk.ends_at(kind)
    return kind if begins or _numbers_follow(talk, kind) or (moved and closed) else None


def _numbered(talk: Talk, at: int) -> int | None:
    """ "car number two", "vehicle two"."""
    kind = talk.phrase("heading_body", at)
    if kind is None:
        return None
    number = kind + 1 if talk.word(kind) == "number" else kind
    return number + 1 if talk.word(number) in NUMBERS and (talk.ends_at(number + 1) or number > kind) else None


def _announced(talk: Talk, at: int, first: Heading) -> int | None:
    """ "now (on to) the silver van", with a number, plate or distance of its own behind it."""
    end = _kind_within(talk, at)
    return (
        end
        if end and (_numbers_follow(talk, end) or _new_values(heading_from(talk, at, reach=HEADING_REACH), first))
        else None
    )


def _numbers_follow(talk: Talk, at: int) -> bool:
    """Whether an order's number, a plate, a distance or a bay follows soon."""
    near = heading_from(talk, at, reach=HEADING_REACH)
    return bool(near.spans)


def _new_values(near: Heading, first: Heading) -> bool:
    """Whether an order's number, plate or VIN is said that is not the first vehicle's."""
    names = ("order_number", "plate", "vin")
    return any(n in near.values and _value(near, n) != _value(first, n) for n in names)


def _value(heading: Heading, name: str) -> str | None:
    return heading.values[name].value if name in heading.values else None


def _new_number(talk: Talk, at: int, first: Heading) -> int | None:
    """A heading of its own: another number than the first vehicle's at once, and a kind of vehicle behind it."""
    if not first.values or not talk.stops_at(at):
        return None
    near = heading_from(talk, at, reach=HEADING_REACH)
    if not near.spans or near.spans[0][0] != at:
        return None
    changed = any(
        _value(near, name) and _value(first, name) and _value(near, name) != _value(first, name)
        for name in ("order_number", "plate", "vin")
    )
    followed = len(near.spans) > 1 and near.spans[1][0] <= near.spans[0][1] + HEADING_REACH // 2
    return near.spans[0][1] + 1 if changed and (followed or _kind_within(talk, near.spans[0][1] + 1)) else None
