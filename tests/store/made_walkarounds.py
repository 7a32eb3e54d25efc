"""Walkarounds made for these tests: one to begin with, and any that Hypothesis may think of."""

from decimal import Decimal

from hypothesis import strategies as st

from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Decision, Review, Signed
from narrate.records.walkaround import (
    Component,
    Concern,
    Confidence,
    Evidence,
    Finding,
    MadeBy,
    Measurement,
    Suggestion,
    Unplaced,
    Vehicle,
    Walkaround,
)

MADE_BY = MadeBy(program="narrate test", lexicon="sha256:1", settings="sha256:2")
SURE = Confidence(overall=0.9, component=0.9, location=0.95, condition=0.9, recommendation=1.0)


def heard(id_: str, text: str = "front pads are at three millimeters", **more: object) -> Recording:
    """A recording with one word a third of a second."""
    words = tuple(
        Word(text=word, start_s=place / 3, end_s=(place + 1) / 3, probability=0.9)
        for place, word in enumerate(text.split())
    )
    return Recording(id=id_, name=f"{id_}.ogg", duration_s=len(words) / 3, words=words, **more)


def said(recording: str = "r1", first: int = 0, last: int = 1) -> Evidence:
    return Evidence(recording=recording, first_word=first, last_word=last, start_s=0.0, end_s=0.6, said="front pads")


def finding(id_: str, *, state: str = "unreviewed", value: str = "3", locations: tuple[str, ...] = ()) -> Finding:
    """Worn brake pads, as thick as `value` says."""
    return Finding(
        id=id_,
        component=Component(id="brake_pads", name="brake pads", system="brakes", heard="pads"),
        locations=locations,
        status="fault",
        measurements=(Measurement(quantity="thickness", value=Decimal(value), unit="mm", said="three"),),
        evidence=(said(),),
        confidence=SURE,
        review=Review(state=state),
    )


def walkaround(**more: object) -> Walkaround:
    """Two findings, a concern and words that fit nowhere, from one recording."""
    given = {
        "made_by": MADE_BY,
        "order_number": "R-1007",
        "technician": "Dana",
        "vehicle": Vehicle(vin="1FTEW1E50PFA00001", plate="7ABC 123", year=2019, make="Ford", model="F-150"),
        "recordings": (heard("r1"),),
        "concerns": (Concern(id="c1", text="grinding when braking"),),
        "findings": (finding("f1"), finding("f2", value="1.60", locations=("rear left",))),
        "unplaced": (Unplaced(id="u1", why="no part named", evidence=(said(first=2, last=3),)),),
    }
    return Walkaround(**{**given, **more})


def with_concern(present: Walkaround, text: str) -> Walkaround:
    """One concern more, under the next id."""
    number = present.ids_used.get("c", 0) + 1
    concern = Concern(id=f"c{number}", text=text)
    return present.model_copy(update={"concerns": (*present.concerns, concern)})


def bare(present: Walkaround) -> Walkaround:
    """The same without the words of its recordings."""
    silent = tuple(each.model_copy(update={"words": ()}) for each in present.recordings)
    return present.model_copy(update={"recordings": silent})


TEXTS = st.text(max_size=12)
AMOUNTS = st.decimals(min_value=0, max_value=1000, places=3) | st.sampled_from([Decimal("1.60"), Decimal("1.6")])


def several(letter: str, thing: st.SearchStrategy) -> st.SearchStrategy:
    """Things with ids of their own, in any order."""
    ids = st.lists(st.integers(1, 7), unique=True, max_size=5)
    return ids.flatmap(lambda numbers: st.tuples(*(thing.map(_named(f"{letter}{number}")) for number in numbers)))


def _named(id_: str):
    return lambda thing: thing.model_copy(update={"id": id_})


FINDINGS = st.builds(
    lambda state, value, places, doubt: finding("f1", state=state, value=str(value), locations=places).model_copy(
        update={"reason": doubt}
    ),
    st.sampled_from(["unreviewed", "confirmed", "dropped"]),
    AMOUNTS,
    st.sampled_from([(), ("front left",), ("front left", "front right")]),
    st.none() | TEXTS,
)
ANY = st.builds(
    Walkaround,
    made_by=st.just(MADE_BY),
    id=st.just("w1"),
    order_number=st.none() | TEXTS,
    vehicle=st.builds(Vehicle, plate=st.none() | TEXTS, year=st.none() | st.integers(1950, 2030)),
    recordings=several("r", st.builds(heard, st.just("r1"))),
    concerns=several("c", st.builds(Concern, id=st.just("c1"), text=TEXTS)),
    findings=several("f", FINDINGS),
    unplaced=several("u", st.builds(Unplaced, id=st.just("u1"), why=TEXTS, evidence=st.just((said(),)))),
    suggestions=several(
        "s", st.builds(Suggestion, id=st.just("s1"), kind=TEXTS, for_=st.none() | TEXTS, text=TEXTS, source=TEXTS)
    ),
    decisions=st.lists(
        st.builds(Decision, about=TEXTS, decided=st.sampled_from(["settled", "nothing_in_it"])), max_size=2
    ).map(tuple),
    review_order=st.lists(st.sampled_from(["f1", "f2", "f3"]), unique=True).map(tuple),
    signed=st.none() | st.builds(Signed, by=TEXTS, at=TEXTS),
    ids_used=st.dictionaries(st.sampled_from("fcu"), st.integers(1, 30)),
    of_a_later_program=st.just(None) | st.integers() | st.dictionaries(TEXTS, TEXTS, max_size=2),
)
"""Any walkaround, with a field that only a later program knows."""
