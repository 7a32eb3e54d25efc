"""`narrate judge`: a walkaround is judged by options, an order and the visit before; mistakes are one sentence."""

import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from cli_fakes import Run, fake_recording, fake_walkaround

from narrate.pipeline import with_order
from narrate.records.order import Order
from narrate.records.walkaround import Answer, Concern, Measurement, Odometer, Vehicle, Walkaround

VIN = "1M8GDM9AXKP042788"


def kept(at: Path, name: str = "walk.json", **fields: Any) -> Path:
    """A walkaround in a file: front pads to be replaced, with one number, and a tire that answers every concern."""
    sound = at / "a.wav"
    sound.write_text("front pads are worn")
    base = fake_walkaround([fake_recording(sound)])
    [pads] = base.findings
    number = Measurement(quantity="thickness", value=Decimal(fields.pop("value", 3)), unit="mm", said="3 mm")
    tire = pads.model_copy(
        update={
            "id": "f2",
            "component": pads.component.model_copy(update={"id": "tire", "name": "tire", "system": "wheels"}),
            "locations": ("front left",),
            "answers": tuple(Answer(concern=each.id) for each in fields.get("concerns", ())),
            "measurements": (Measurement(quantity="tread depth", value=Decimal(2), unit="mm", said="2 mm"),),
        }
    )
    pads = pads.model_copy(update={"locations": ("front left",), "measurements": (number,)})
    walkaround = base.model_copy(update={"findings": (pads, tire), **fields})
    path = at / name
    path.write_text(walkaround.model_dump_json(by_alias=True), "utf-8")
    return path


def judged(run: Run, *arguments: object) -> Walkaround:
    """What a command line comes to, read back."""
    result = run("judge", *arguments, "--json", "-")
    assert 0 == result.exit_code, result.stderr
    return Walkaround.model_validate(json.loads(result.stdout))


def refused(run: Run, *arguments: object) -> str:
    """The message of a command line that is wrong in itself."""
    result = run("judge", *arguments)
    assert 2 == result.exit_code
    assert "" == result.stdout
    assert "Traceback" not in result.stderr
    return result.stderr


def tread_set(walkaround: Walkaround) -> str | None:
    """The rule set that the tread was judged by."""
    verdict = walkaround.findings[1].measurements[0].verdict
    return verdict.rule_set if verdict else None


def order(at: Path, text: str, name: str = "order.toml") -> Path:
    """An order in a file."""
    path = at / name
    path.write_text(text, "utf-8")
    return path


# --- What is printed


def test_json_to_standard_output_is_one_valid_record(at: Path, run: Run) -> None:
    result = run("judge", kept(at), "--json", "-")
    assert 0 == result.exit_code
    assert "narrate.walkaround/1" == json.loads(result.stdout)["schema"]
    again = judged(run, at / "walk.json")
    assert again.suggestions
    assert all(each.source for each in again.suggestions)
    assert again.made_by.rules


def test_json_to_a_file_prints_the_table_as_well(at: Path, run: Run) -> None:
    result = run("judge", kept(at), "--json", at / "out.json")
    assert 0 == result.exit_code
    assert "brake pad" in result.stdout.casefold()
    assert "narrate.walkaround/1" == json.loads((at / "out.json").read_text("utf-8"))["schema"]


def test_the_file_that_was_read_is_not_touched(at: Path, run: Run) -> None:
    path = kept(at)
    before = path.read_bytes()
    judged(run, path)
    assert before == path.read_bytes()


def test_nothing_that_was_said_changes(at: Path, run: Run) -> None:
    path = kept(at)
    before = Walkaround.model_validate_json(path.read_text("utf-8"))
    after = judged(run, path)
    assert before.recordings == after.recordings
    for one, other in zip(before.findings, after.findings, strict=True):
        assert (one.evidence, one.component, one.conditions) == (other.evidence, other.component, other.conditions)
        assert [each.value for each in one.measurements] == [each.value for each in other.measurements]


def test_judging_what_was_judged_keeps_texts(at: Path, run: Run) -> None:
    once = judged(run, kept(at))
    (at / "once.json").write_text(once.model_dump_json(by_alias=True), "utf-8")
    again = judged(run, at / "once.json")
    assert once.findings == again.findings
    assert sorted(each.text for each in once.suggestions) == sorted(each.text for each in again.suggestions)


def test_judging_what_was_judged_gives_the_same(at: Path, run: Run) -> None:
    wrong = Vehicle(vin=VIN[:-1])
    once = judged(run, kept(at, vehicle=wrong))
    (at / "once.json").write_text(once.model_dump_json(by_alias=True), "utf-8")
    again = judged(run, at / "once.json")
    assert len(again.suggestions) == len({each.id for each in again.suggestions})
    assert once == again


# --- Market and rule set


@pytest.mark.parametrize(
    ("market", "name"),
    [("us", "US federal, light vehicles in use"), ("gb", "Great Britain"), ("eu", "European Union")],
)
def test_the_market_chooses_the_limits(at: Path, run: Run, market: str, name: str) -> None:
    assert name == tread_set(judged(run, kept(at), "--market", market))
    assert name == tread_set(judged(run, kept(at, market=market)))


def test_the_option_goes_before_the_walkaround_s_own_market(at: Path, run: Run) -> None:
    assert "Great Britain" == tread_set(judged(run, kept(at, market="us"), "--market", "gb"))


def test_a_market_there_is_not_is_refused(at: Path, run: Run) -> None:
    assert "mars" in refused(run, kept(at), "--market", "mars")


def test_a_rule_set_goes_before_the_market(at: Path, run: Run) -> None:
    given = judged(run, kept(at), "--market", "gb", "--rule-set", "us_commercial")
    assert "US federal, commercial vehicles" == tread_set(given)


def test_a_rule_set_without_a_limit_does_not_fall_back_on_the_market_s(at: Path, run: Run) -> None:
    given = judged(run, kept(at), "--market", "gb", "--rule-set", "us_virginia")
    assert tread_set(given) is None


def test_an_unknown_rule_set_is_one_sentence_with_those_there_are(at: Path, run: Run) -> None:
    told = refused(run, kept(at), "--rule-set", "mars")
    assert told.startswith("There is no rule set 'mars'; the rule sets are ")
    assert "us_federal" in told
    assert 1 == len(told.splitlines())


# --- The order


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ('numbr = "17"', "numbr"),
        ("[vehicle]\nvni = 1", "vehicle.vni"),
        ('{"inspecton": true}', "inspecton"),
        ('promised = "2026-02-30"', "promised"),
        ('inspection = "perhaps"', "inspection"),
    ],
)
def test_a_mistake_in_the_order_names_file_and_key(at: Path, run: Run, text: str, key: str) -> None:
    told = refused(run, kept(at), "--order", order(at, text))
    assert all(f"order.toml: {key}" in line for line in told.splitlines())


def test_a_day_that_there_is_not_names_the_file(at: Path, run: Run) -> None:
    told = refused(run, kept(at), "--order", order(at, "promised = 2026-02-30"))
    assert "order.toml" in told
    assert 1 == len(told.splitlines())


def test_a_day_that_there_is_not_names_the_key(at: Path, run: Run) -> None:
    assert "promised" in refused(run, kept(at), "--order", order(at, "promised = 2026-02-30"))


@pytest.mark.parametrize("text", ["promised = 2026-02-28", "promised = 2026-02-28T16:30:00", 'promised = "2026-02-28"'])
def test_a_day_that_there_is_is_taken(at: Path, run: Run, text: str) -> None:
    assert judged(run, kept(at), "--order", order(at, text))


def test_an_order_that_is_not_there_is_refused(at: Path, run: Run) -> None:
    assert "none.toml" in refused(run, kept(at), "--order", "none.toml")


def test_an_inspection_lists_what_was_not_mentioned(at: Path, run: Run) -> None:
    given = judged(run, kept(at), "--order", order(at, "inspection = true"))
    assert "brake rotors and drums" in given.not_mentioned
    assert "brake pads and shoes" not in given.not_mentioned
    assert () == given.without_verdict


@pytest.mark.parametrize("text", ["", "inspection = false"])
def test_without_an_inspection_nothing_is_listed(at: Path, run: Run, text: str) -> None:
    given = judged(run, kept(at), "--order", order(at, text))
    assert () == given.not_mentioned
    assert () == judged(run, kept(at)).not_mentioned


def test_the_order_adds_its_number_and_its_concerns(at: Path, run: Run) -> None:
    spoken = Concern(id="c1", text="It squeals", state="answered")
    text = 'number = "17"\nconcerns = ["it squeals", "pulls left"]'
    given = judged(run, kept(at, concerns=(spoken,)), "--order", order(at, text))
    assert "17" == given.order_number
    # What is still open stands first.
    assert [("c2", "pulls left", "order", "open"), ("c1", "It squeals", "spoken", "answered")] == [
        (each.id, each.text, each.origin, each.state) for each in given.concerns
    ]


def test_a_number_that_was_said_stands() -> None:
    walkaround = fake_walkaround([]).model_copy(update={"order_number": "5"})
    assert "5" == with_order(walkaround, Order(number="17")).order_number


def test_laying_an_order_over_twice_changes_nothing_more() -> None:
    given = Order(number="17", concerns=("it squeals", "pulls left"))
    once = with_order(fake_walkaround([]), given)
    assert ["c1", "c2"] == [each.id for each in once.concerns]
    assert once == with_order(once, given)


def test_a_concern_written_twice_is_one_concern() -> None:
    assert 1 == len(with_order(fake_walkaround([]), Order(concerns=("it squeals", "It squeals"))).concerns)


# --- The visit before


def at_miles(miles: int, **fields: str) -> Vehicle:
    """A vehicle with a distance on the clock."""
    return Vehicle(odometer=Odometer(value=Decimal(miles), unit="mi"), **fields)


def test_the_visit_before_tells_what_has_worn(at: Path, run: Run) -> None:
    before = kept(at, "before.json", value=8, vehicle=at_miles(40000, vin=VIN))
    now = kept(at, value=3, vehicle=at_miles(50000, vin=VIN))
    told = judged(run, now, "--previous", before).comparisons
    # 8 - 3 = 5 mm in 10,000 miles
    assert any("8 mm at the visit before, 3 mm now; 0.5 mm in 1,000 miles" in each for each in told)
    assert () == judged(run, now).comparisons


@pytest.mark.parametrize(
    ("before", "now", "what"),
    [
        ({"vin": VIN}, {"vin": "1G4AH59H45G118341"}, "vin"),
        ({"plate": "ABC 123"}, {"plate": "XYZ 9"}, "plate"),
    ],
)
def test_a_visit_of_another_vehicle_is_one_sentence(
    at: Path, run: Run, before: dict[str, str], now: dict[str, str], what: str
) -> None:
    previous = kept(at, "before.json", vehicle=Vehicle(**before))
    told = refused(run, kept(at, vehicle=Vehicle(**now)), "--previous", previous)
    assert told.startswith(f"The previous walkaround is of another vehicle: its {what} is ")
    assert 1 == len(told.splitlines())


def test_a_previous_file_that_is_no_walkaround_is_one_sentence(at: Path, run: Run) -> None:
    (at / "before.json").write_text("{}")
    result = run("judge", kept(at), "--previous", at / "before.json")
    assert 1 == result.exit_code
    assert "before.json" in result.stderr
    assert 1 == len(result.stderr.splitlines())


def test_a_file_that_is_not_there_is_refused(run: Run) -> None:
    assert "none.json" in refused(run, "none.json")
