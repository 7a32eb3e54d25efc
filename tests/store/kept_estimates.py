"""Estimates and price books made for these tests: one to begin with, and any that Hypothesis may think of."""

from decimal import Decimal

from hypothesis import strategies as st
from made_walkarounds import AMOUNTS, TEXTS, several, walkaround

from narrate.records.estimate import Choice, Consent, Estimate, Job, Line, ToBePriced, Totals
from narrate.records.price_book import Book, LaborRate, Operation, Part
from narrate.store.engine import Store
from narrate.store.estimates import add_estimate
from narrate.store.walkarounds import add_walkaround

DOCUMENT = "ab" * 32


def line(id_: str, amount: str, kind: str = "part") -> Line:
    """One line, its amount not taxed."""
    price = Decimal(amount)
    return Line(
        id=id_, kind=kind, text="pads", quantity=Decimal(1), unit="each", unit_price=price, amount=price, taxable=False
    )


def job(id_: str, amount: str = "96.40", *, state: str = "offered", **more: object) -> Job:
    """Brake pads in two ways, the second dearer by ten."""
    first, second = Decimal(amount), Decimal(amount) + 10
    choices = (
        Choice(id="k1", label="new, other maker", lines=(line("n1", amount),), subtotal=first),
        Choice(id="k2", label="new, original maker", lines=(line("n2", str(second)),), subtotal=second),
    )
    given = {"title": "Front brake pads", "component": "brake_pads", "action": "replace", "finding_ids": ("f1",)}
    return Job(id=id_, state=state, choices=choices, **{**given, **more})


def estimate(**more: object) -> Estimate:
    """Two jobs, and one that nobody has priced yet."""
    given = {
        "walkaround_id": "w1",
        "draft": False,
        "currency": "USD",
        "place": "unknown",
        "made_at": "2026-11-27T10:00:00.000Z",
        "customer": {"name": "Robin Okafor", "phone": "555 0117"},
        "vehicle": {"vin": "1FTEW1E50PFA00001", "plate": "7ABC 123", "year": 2019, "make": "Ford", "model": "F-150"},
        "order_number": "R-1007",
        "jobs": (job("j1"), job("j2", "210.00", component="struts", locations=("front left",))),
        "to_be_priced": (ToBePriced(id="p1", title="Exhaust hanger", why="The book has no operation for it."),),
        "totals": Totals(parts=Decimal("306.40"), total=Decimal("306.40")),
        "ids_used": {"j": 2, "p": 1, "n": 4},
    }
    return Estimate(**{**given, **more})


def answered(present: Estimate, states: dict[str, str], *, at: str = "2026-11-27T11:00:00.000Z") -> Estimate:
    """The estimate after a customer's answer by telephone."""
    answers = {id_: {"state": state} for id_, state in states.items()}
    consent = Consent(
        at=at, by="Dana", who="Robin Okafor", how="telephone", number="555 0117", words="go ahead", read_back=True,
        answers=answers, total=Decimal("306.40"), document=DOCUMENT,
    )  # fmt: skip
    jobs = (each.model_copy(update={"state": states.get(each.id, each.state)}) for each in present.jobs)
    return present.model_copy(update={"jobs": tuple(jobs), "consents": (*present.consents, consent)})


def priced(present: Estimate, id_: str, amount: str) -> Estimate:
    """The estimate with another price for one of its jobs."""
    jobs = (job(id_, amount) if each.id == id_ else each for each in present.jobs)
    return present.model_copy(update={"jobs": tuple(jobs)})


def kept(store: Store, **more: object) -> str:
    """An estimate in the store, of a walkaround of its own."""
    about = add_walkaround(store, walkaround(), who="Dana")
    return add_estimate(store, estimate(walkaround_id=about, **more), who="Dana")


def book(**more: object) -> Book:
    """An operation and a part."""
    given = {
        "currency": "USD",
        "operations": (Operation(key="pads", component="brake_pads", action="replace", hours=Decimal("1.60")),),
        "parts": (Part(key="p-1", component="brake_pads", text="Pads, ceramic", price=Decimal("96.40")),),
        "rates": (LaborRate(name="standard", price=Decimal("135.00")),),
        "note": "invented",
        "digest": "cd" * 32,
    }
    return Book(**{**given, **more})


JOBS = st.builds(
    lambda amount, state, places: job("j1", str(amount), state=state, locations=places),
    AMOUNTS,
    st.sampled_from(["offered", "authorized", "declined"]),
    st.sampled_from([(), ("front",), ("rear left", "rear right")]),
)
ANY_ESTIMATE = st.builds(
    Estimate,
    id=st.just("e1"),
    walkaround_id=st.just("w1"),
    draft=st.booleans(),
    currency=st.just("USD"),
    place=TEXTS,
    made_at=st.just("2026-11-27T10:00:00.000Z"),
    concerns=st.lists(TEXTS, max_size=2).map(tuple),
    jobs=several("j", JOBS),
    to_be_priced=several("p", st.builds(ToBePriced, id=st.just("p1"), title=TEXTS, why=TEXTS)),
    totals=st.builds(Totals, total=AMOUNTS),
    discount=AMOUNTS,
    ids_used=st.dictionaries(st.sampled_from("jpn"), st.integers(1, 30)),
    of_a_later_program=st.just(None) | st.integers(),
)
"""Any estimate, with a field that only a later program knows."""
