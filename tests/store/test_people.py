"""People, their PINs, and what their devices hold: on both engines."""

import json
import threading
from datetime import timedelta

import pytest
from argon2 import PasswordHasher
from sqlalchemy import select

from narrate.errors import MissingError, UsageError
from narrate.store import people, signed_in, tables
from narrate.store.clock import now
from narrate.store.engine import Store
from narrate.store.events import read_events
from narrate.store.people import add_person, change_person, list_people, read_person, set_pin
from narrate.store.signed_in import (
    NO_CODE,
    TRIES,
    WRONG,
    SignInError,
    later,
    new_pairing,
    person_by_token,
    sign_in,
    sign_out,
    sign_out_everywhere,
    use_pairing,
)

PIN = "482915"
OTHER_PIN = "0077"


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    """The slowness of a hash is not what is tested here."""
    quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(people, "PasswordHasher", lambda: quick)


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> "Clock":
    return Clock(monkeypatch)


class Clock:
    """The store's time, moved by hand."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.at = now()
        monkeypatch.setattr(signed_in, "now", lambda: self.at)

    def wait(self, **by: float) -> None:
        self.at = later(self.at, timedelta(**by))


def owner_of(store: Store) -> int:
    return add_person(store, name="Ada", role="owner", who="test", pin=PIN)


def everything(store: Store) -> str:
    """All text of all tables about people."""
    with store.reading() as connection:
        rows = [connection.execute(select(table)).all() for table in tables.metadata.tables.values()]
    return repr(rows)


def wrong(store: Store, person: int, times: int = 1) -> None:
    for _ in range(times):
        with pytest.raises(SignInError, match=WRONG):
            sign_in(store, person, "9999", "phone")


def test_people_are_added_and_listed_by_name(store: Store) -> None:
    add_person(store, name="  Zoe   B. ", role="technician", who="test")
    owner = owner_of(store)
    assert [(one.name, one.role, one.has_pin, one.active) for one in list_people(store)] == [
        ("Ada", "owner", True, True),
        ("Zoe B.", "technician", False, True),
    ]
    assert read_person(store, owner).name == "Ada"
    with pytest.raises(MissingError, match="no such person"):
        read_person(store, 99)


def test_changes_are_events_without_pins(store: Store) -> None:
    owner = owner_of(store)
    change_person(store, owner, who="Ada", name="Ada L.")
    change_person(store, owner, who="Ada", name="Ada L.")
    set_pin(store, owner, OTHER_PIN, who="Ada")
    told = read_events(store, "people")
    assert [one.what for one in told] == ["added", "pin_given", "changed", "pin_given"]
    assert {one.about for one in told} == {str(owner)}
    assert [(one.kind, one.before, one.after) for one in told[2].changes] == [("name", "Ada", "Ada L.")]
    kept = everything(store)
    assert PIN not in kept
    assert f"'{OTHER_PIN}'" not in kept
    assert "argon2" not in json.dumps([one.model_dump() for one in told])


@pytest.mark.parametrize("name", ["", "  ", "x" * 81, "a\x00b", "ADA"])
def test_names_that_will_not_do(store: Store, name: str) -> None:
    owner_of(store)
    with pytest.raises(UsageError, match=r"name|called"):
        add_person(store, name=name, role="technician", who="test")
    assert len(list_people(store)) == 1


def test_a_name_may_change_its_capitals(store: Store) -> None:
    owner = owner_of(store)
    change_person(store, owner, who="test", name="ADA")
    assert read_person(store, owner).name == "ADA"


def test_a_role_that_is_none(store: Store) -> None:
    with pytest.raises(UsageError, match="no role “boss”"):
        add_person(store, name="Bo", role="boss", who="test")  # type: ignore[arg-type]


@pytest.mark.parametrize("pin", ["123", "1" * 13, "12 34", "abcd", "١٢٣٤", "1234\n", ""])
def test_pins_that_will_not_do(store: Store, pin: str) -> None:
    owner = owner_of(store)
    with pytest.raises(UsageError, match="4 to 12 digits"):
        set_pin(store, owner, pin, who="test")
    assert sign_in(store, owner, PIN, "phone")


def test_an_owner_with_a_pin_remains(store: Store) -> None:
    """Nobody can lock the shop out of its own settings."""
    technician = add_person(store, name="Bo", role="technician", who="test")
    with pytest.raises(UsageError, match="owner needs one too"):
        set_pin(store, technician, PIN, who="test")
    assert not people.pins_are_used(store)
    owner = owner_of(store)
    set_pin(store, technician, OTHER_PIN, who="test")
    for attempt in (
        lambda: set_pin(store, owner, None, who="test"),
        lambda: change_person(store, owner, who="test", active=False),
        lambda: change_person(store, owner, who="test", role="advisor"),
    ):
        with pytest.raises(UsageError, match="owner needs one too"):
            attempt()
    assert read_person(store, owner) == people.KnownPerson(
        id=owner, name="Ada", role="owner", active=True, has_pin=True
    )
    set_pin(store, technician, None, who="test")
    assert people.owner_has_pin(store)
    set_pin(store, owner, None, who="test")
    assert not people.owner_has_pin(store)


def test_a_token_is_good_for_thirty_days(store: Store, clock: Clock) -> None:
    owner = owner_of(store)
    token = sign_in(store, owner, PIN, "a phone\n" + "x" * 500)
    assert len(token) >= 43
    assert token not in everything(store)
    clock.wait(days=29, hours=23)
    found = person_by_token(store, token)
    assert found is not None
    assert found.id == owner
    clock.wait(hours=2)
    assert person_by_token(store, token) is None
    assert person_by_token(store, "") is None
    sign_in(store, owner, PIN, "phone")
    with store.reading() as connection:
        assert len(connection.execute(select(tables.signed_in)).all()) == 1, "the old one should be gone"


def test_signing_out_ends_one_device(store: Store) -> None:
    owner = owner_of(store)
    first, second = sign_in(store, owner, PIN, "phone"), sign_in(store, owner, PIN, "tablet")
    sign_out(store, first)
    sign_out(store, first)
    assert person_by_token(store, first) is None
    assert person_by_token(store, second) is not None
    sign_out_everywhere(store, owner, who="Ada")
    assert person_by_token(store, second) is None
    assert [one.what for one in read_events(store, "people")][-4:] == [
        "signed_in", "signed_in", "signed_out", "signed_out_everywhere",
    ]  # fmt: skip


def test_whoever_leaves_or_gets_another_pin_is_signed_out(store: Store) -> None:
    owner_of(store)
    technician = add_person(store, name="Bo", role="technician", who="test", pin=OTHER_PIN)
    token = sign_in(store, technician, OTHER_PIN, "phone")
    set_pin(store, technician, "5555", who="Ada")
    assert person_by_token(store, token) is None
    token = sign_in(store, technician, "5555", "phone")
    change_person(store, technician, who="Ada", active=False)
    assert person_by_token(store, token) is None
    with pytest.raises(SignInError, match=WRONG):
        sign_in(store, technician, "5555", "phone")


def test_nobody_signs_in_without_a_pin(store: Store) -> None:
    technician = add_person(store, name="Bo", role="technician", who="test")
    for person, pin in ((technician, ""), (99, PIN)):
        with pytest.raises(SignInError, match=WRONG):
            sign_in(store, person, pin, "phone")


def test_wrong_pins_lock_a_name_for_longer_and_longer(store: Store, clock: Clock) -> None:
    owner = owner_of(store)
    for minutes in (5, 10, 20):
        wrong(store, owner, TRIES)
        with pytest.raises(SignInError, match=rf"wait {minutes} minutes and"):
            sign_in(store, owner, PIN, "phone")
        clock.wait(minutes=minutes - 1, seconds=30)
        with pytest.raises(SignInError, match="wait a minute and"):
            sign_in(store, owner, PIN, "phone")
        clock.wait(seconds=31)
    assert sign_in(store, owner, PIN, "phone")
    wrong(store, owner, TRIES - 1)
    assert sign_in(store, owner, PIN, "phone"), "the last try before the lock may be right"
    assert read_person(store, owner).locked_until is None
    assert signed_in._lock(500) == timedelta(days=1)


def test_a_new_pin_ends_the_lock(store: Store) -> None:
    owner = owner_of(store)
    wrong(store, owner, TRIES)
    set_pin(store, owner, OTHER_PIN, who="test")
    assert sign_in(store, owner, OTHER_PIN, "phone")


def test_tries_at_once_are_counted_one_by_one(store: Store) -> None:
    """Twelve at once get no more comparisons than twelve in a row."""
    owner = owner_of(store)
    told: list[str] = []

    def attempt() -> None:
        try:
            sign_in(store, owner, "9999", "phone")
        except SignInError as error:
            told.append(str(error))

    threads = [threading.Thread(target=attempt) for _ in range(12)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(told) == 12
    assert told.count(WRONG) == TRIES


def test_a_code_lets_one_device_in_once(store: Store, clock: Clock) -> None:
    owner = owner_of(store)
    code = new_pairing(store, owner, who="Ada")
    assert len(code) >= 22
    assert code not in everything(store)
    token = use_pairing(store, code, "phone")
    found = person_by_token(store, token)
    assert found is not None
    assert found.id == owner
    with pytest.raises(SignInError, match=NO_CODE):
        use_pairing(store, code, "phone")
    late = new_pairing(store, owner, who="Ada")
    clock.wait(minutes=10)
    with pytest.raises(SignInError, match=NO_CODE):
        use_pairing(store, late, "phone")
    assert [one.what for one in read_events(store, "people")][2:] == ["code_shown", "device_let_in", "code_shown"]


def test_a_newer_code_ends_an_earlier_one(store: Store) -> None:
    owner = owner_of(store)
    earlier, newer = (new_pairing(store, owner, who="Ada") for _ in range(2))
    with pytest.raises(SignInError, match=NO_CODE):
        use_pairing(store, earlier, "phone")
    assert use_pairing(store, newer, "phone")


def test_codes_are_for_those_who_work_here(store: Store) -> None:
    owner_of(store)
    technician = add_person(store, name="Bo", role="technician", who="test")
    code = new_pairing(store, technician, who="Ada")
    change_person(store, technician, who="Ada", active=False)
    with pytest.raises(SignInError, match=NO_CODE):
        use_pairing(store, code, "phone")
    with pytest.raises(SignInError, match="Bo is not active"):
        new_pairing(store, technician, who="Ada")
    with pytest.raises(MissingError, match="no such person"):
        new_pairing(store, 99, who="Ada")
    with pytest.raises(MissingError, match="no such person"):
        sign_out_everywhere(store, 99, who="Ada")


def test_a_code_is_used_once_however_many_try_at_once(store: Store) -> None:
    code = new_pairing(store, owner_of(store), who="Ada")
    let_in: list[str] = []

    def attempt() -> None:
        try:
            let_in.append(use_pairing(store, code, "phone"))
        except SignInError:
            return

    threads = [threading.Thread(target=attempt) for _ in range(8)]
    for one in threads:
        one.start()
    for one in threads:
        one.join()
    assert len(let_in) == 1
