"""`narrate authorize` keeps an answer as it was given; `narrate reminders` lists what is due."""

import hashlib
import json
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest
from cli_fakes import Run

from narrate.price.sums import summed
from narrate.records.estimate import Choice, Estimate, Job, Line
from narrate.records.walkaround import MadeBy, Vehicle, Walkaround
from narrate.store.engine import Store, open_store
from narrate.store.estimates import (
    add_estimate,
    change_estimate,
    documents_of,
    history,
    log_document,
    read_estimate,
)
from narrate.store.walkarounds import add_walkaround

CALL = ("--by", "Dana", "--how", "telephone", "--number", "555 0117", "--words", "go ahead", "--read-back")


def way(id_: str, price: str) -> Choice:
    amount = Decimal(price)
    line = Line(
        id=f"n{price}", kind="part", text="pads", quantity=Decimal(1), unit="each", unit_price=amount, amount=amount,
        taxable=False,
    )  # fmt: skip
    return Choice(id=id_, label=f"way {id_}", lines=(line,), subtotal=amount)


def estimate(**more: object) -> Estimate:
    """Three jobs; the second needs the third."""
    jobs = (
        Job(id="j1", title="Front pads", component="brake_pads", choices=(way("k1", "96.40"), way("k2", "120.00"))),
        Job(id="j2", title="Tie rod end", component="tie_rod_end", requires=("j3",), choices=(way("k1", "80.00"),)),
        Job(id="j3", title="Alignment", component="wheel", choices=(way("k1", "100.00"),)),
    )
    given = {
        "walkaround_id": "w1",
        "draft": False,
        "currency": "USD",
        "place": "unknown",
        "made_at": "2026-11-27T10:00:00.000Z",
        "customer": {"name": "Robin Okafor"},
        "jobs": jobs,
    }
    return summed(Estimate(**{**given, **more}))


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    """The shop's store, with a walkaround in it."""
    opened = open_store(tmp_path / "data")
    made_by = MadeBy(program="test", lexicon="", settings="")
    add_walkaround(opened, Walkaround(made_by=made_by, vehicle=Vehicle(plate="7ABC123")), who="Dana")
    yield opened
    opened.close()


def test_an_answer_by_telephone_is_kept(store: Store, run: Run) -> None:
    """Who, when, which number, what words, read back; the way that was chosen; and the document's digest."""
    id_ = add_estimate(store, estimate(), who="Dana")
    answers = ("--job", "j1=k2", "--job", "j2=declined", "--job", "j3=2027-01-10")
    result = run("authorize", id_, *CALL, *answers)
    assert 0 == result.exit_code, result.stderr
    assert "Agreed: 120.00 USD, tax included." in result.stdout
    held = read_estimate(store, id_)
    assert ["authorized", "declined", "decide_by"] == [job.state for job in held.estimate.jobs]
    assert ("k2", "2027-01-10") == (held.estimate.jobs[0].chosen, held.estimate.jobs[2].decide_by_date)
    (consent,) = held.estimate.consents
    told = (consent.by, consent.who, consent.how, consent.number, consent.words, consent.read_back)
    assert ("Dana", "Robin Okafor", "telephone", "555 0117", "go ahead", True) == told
    (document,) = documents_of(store, id_)
    assert (consent.document, "read out") == (document.sha256, document.how)
    assert ["made", "document", "answer"] == [event.what for event in history(store, id_)]


def test_the_document_shown_is_named(store: Store, run: Run, at: Path) -> None:
    """The last one that shows the estimate as it is, or the file that is given; none of what was changed since."""
    id_ = add_estimate(store, estimate(), who="Dana")
    log_document(store, id_, sha256="ab" * 32, kind="pdf", how="sent", who="Dana")
    assert 0 == run("authorize", id_, *CALL, "--job", "j1=declined").exit_code
    change_estimate(
        store, id_, who="Dana", what="wording", make=lambda e: e.model_copy(update={"old_parts": "asked_back"})
    )
    assert 0 == run("authorize", id_, *CALL, "--job", "j1=authorized").exit_code
    paper = at / "signed.pdf"
    paper.write_bytes(b"%PDF signed")
    result = run("authorize", id_, "--by", "Dana", "--how", "paper", "--all", "--document", paper)
    assert 0 == result.exit_code, result.stderr
    assert "It was not read back" in result.stderr
    first, second, third = (consent.document for consent in read_estimate(store, id_).estimate.consents)
    assert "ab" * 32 == first
    assert second == documents_of(store, id_)[-1].sha256 != first
    assert hashlib.sha256(b"%PDF signed").hexdigest() == third


def test_json_is_the_estimate(store: Store, run: Run) -> None:
    """With the answer in it."""
    id_ = add_estimate(store, estimate(), who="Dana")
    result = run("authorize", id_, *CALL, "--all", "--json", "-")
    told = json.loads(result.stdout)
    assert ("narrate.estimate/1", "276.40") == (told["schema"], told["consents"][0]["total"])


@pytest.mark.parametrize(
    ("arguments", "code", "why"),
    [
        ((*CALL,), 2, "Tell what was answered"),
        ((*CALL, "--all", "--job", "j1=declined"), 2, "Tell what was answered"),
        ((*CALL, "--job", "j9=declined"), 2, "has no job 'j9'; it has j1, j2, j3"),
        ((*CALL, "--job", "j1=maybe"), 2, "authorized, declined, one of its ways (k1, k2), or a day"),
        ((*CALL, "--job", "j1=k1", "--job", "j1=k2"), 2, "answered twice"),
        ((*CALL, "--job", "j2=authorized"), 2, "cannot be done without “Alignment”"),
        ((*CALL, "--job", "j1=k1", "--total", "90.00"), 1, "comes to 96.40"),
        ((*CALL, "--job", "j1=k1", "--total", "much"), 2, "is no amount"),
        (("--by", "Dana", "--job", "j1=k1"), 2, "number that was called"),
    ],
)
def test_what_cannot_be_is_refused(store: Store, run: Run, arguments: tuple[str, ...], code: int, why: str) -> None:
    """In one sentence, and nothing is kept: no answer, no document."""
    id_ = add_estimate(store, estimate(), who="Dana")
    result = run("authorize", id_, *arguments)
    assert (code, "") == (result.exit_code, result.stdout)
    assert why in " ".join(result.stderr.split())
    assert 1 == len(history(store, id_))


def test_drafts_and_strangers_are_refused(store: Store, run: Run) -> None:
    """A draft, an estimate that is not there, and one without anyone's name."""
    draft = add_estimate(store, estimate(draft=True), who="Dana")
    assert "is a draft" in run("authorize", draft, *CALL, "--all").stderr
    assert "no estimate 'e9'" in run("authorize", "e9", *CALL, "--all").stderr
    nobody = add_estimate(store, estimate(customer={}), who="Dana")
    assert "--who" in run("authorize", nobody, *CALL, "--all").stderr
    assert 0 == run("authorize", nobody, *CALL, "--who", "Robin", "--all").exit_code


def test_reminders_are_listed(store: Store, run: Run) -> None:
    """Of what was put off to a day and declined; as a table and as JSON."""
    assert "Nobody is to be reminded" in run("reminders").stdout
    id_ = add_estimate(store, estimate(), who="Dana")
    run("authorize", id_, *CALL, "--job", "j1=2027-01-10", "--job", "j2=declined")
    result = run("reminders", "--until", "2027-02-01")
    assert 0 == result.exit_code
    assert "2027-01-10" in result.stdout
    assert "Front pads (to decide)" in result.stdout
    assert "7ABC123" in result.stdout
    assert "Tie rod end" not in result.stdout
    told = json.loads(run("reminders", "--until", "2099-01-01", "--json", "-").stdout)
    assert ["decide_by", "declined"] == [each["kind"] for each in told]
    assert "96.40" == told[0]["left"]["amount"]
    assert 2 == run("reminders", "--until", "soon").exit_code
