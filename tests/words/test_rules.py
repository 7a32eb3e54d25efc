"""Bad rule files, narrate's own and a shop's: each mistake is told in one sentence with file and key path."""

import shutil
from collections.abc import Callable
from decimal import Decimal
from pathlib import Path

import pytest

from narrate.errors import LexiconError, UsageError
from narrate.settings import project_folder
from narrate.words.load import load_lexicon
from narrate.words.rule_entries import NO_SOURCE
from narrate.words.rules import Rules, load_rules
from narrate.words.shop_rules import lay_shop_rules_over

OWN = project_folder("lexicon") / "rules"
Refused = Callable[[str, str], tuple[str, ...]]


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    return Path(shutil.copytree(OWN, tmp_path / "rules"))


@pytest.fixture
def refused(folder: Path) -> Refused:
    """What is told of a rule file with something added to its end."""

    def problems(name: str, added: str) -> tuple[str, ...]:
        file = folder / name
        file.write_text(f"{file.read_text('utf-8')}\n{added}", "utf-8")
        with pytest.raises(LexiconError) as told:
            load_rules(load_lexicon(), folder)
        return told.value.problems

    return problems


def count(key: str) -> int:
    """How many limits, or spreads, the file has: the number of the one that is added."""
    rules = load_rules(load_lexicon())
    return len(rules.limits if key == "limit" else rules.spreads)


LIMIT = {
    "rule_set": '"gb"',
    "components": '["brake_pad"]',
    "quantity": '"thickness"',
    "least": '"1.5"',
    "unit": '"mm"',
    "source": '"some law"',
    "how": '"read"',
}


def limit(**changed: str | None) -> str:
    """A limit with some keys changed, or left out by None."""
    lines = [f"{key} = {value}" for key, value in (LIMIT | changed).items() if value is not None]
    return "\n".join(["[[limit]]", *lines, ""])


def test_a_copy_of_the_files_loads_and_has_the_same_digest(folder: Path) -> None:
    own, copy = load_rules(load_lexicon()), load_rules(load_lexicon(), folder)
    assert copy.digest == own.digest
    assert copy.limits == own.limits


def test_an_added_limit_loads(folder: Path) -> None:
    file = folder / "limits.toml"
    file.write_text(f"{file.read_text('utf-8')}\n{limit()}", "utf-8")
    rules = load_rules(load_lexicon(), folder)
    assert rules.limits[-1].least == Decimal("1.5")
    assert rules.digest != load_rules(load_lexicon()).digest


@pytest.mark.parametrize(
    ("changed", "told"),
    [
        ({"source": None}, ".source: Field required"),
        ({"source": '" "'}, ": a limit needs a source"),
        ({"most": '"3"'}, ": give either least or most"),
        ({"least": None}, ": give either least or most"),
        ({"components": '["brake_pod"]'}, ".components: no component is called 'brake_pod'"),
        ({"quantity": '"hardness"'}, ".quantity: 'hardness' is not measured of 'brake_pad'"),
        ({"rule_set": '"atlantis"'}, ".rule_set: no rule set is called 'atlantis'"),
        ({"unit": '"psi"'}, ".unit: 'thickness' of 'brake_pad' is measured in 1/32in, in, mm"),
        ({"colour": '"green"'}, ".colour: Extra inputs are not permitted"),
        ({"how": '"guessed"'}, ".how: Input should be"),
        ({"least": '"a few"'}, ".least: "),
        ({"least": '"nan"'}, ".least: "),
        ({"places": '["middle"]'}, ".places.0: Input should be"),
        ({"quantity": '"Thickness"'}, ".quantity: must be lower case"),
    ],
)
def test_a_bad_limit(refused: Refused, changed: dict[str, str | None], told: str) -> None:
    (problem,) = refused("limits.toml", limit(**changed))
    assert problem.startswith(f"rules/limits.toml: limit.{count('limit')}{told}")
    assert "\n" not in problem


def test_a_unit_there_is_not_is_told_beside_those_of_the_part(refused: Refused) -> None:
    place = f"rules/limits.toml: limit.{count('limit')}.unit"
    assert refused("limits.toml", limit(unit='"furlong"')) == (
        f"{place}: no unit is written 'furlong'",
        f"{place}: 'thickness' of 'brake_pad' is measured in 1/32in, in, mm",
    )


RULE = '[rule.odd]\nwhen = "this_visit"\n'
JOB = '[job.odd]\ncomponents = ["brake_pad"]\ntext = "x"\n'
ITEM = '[item.odd]\nheading = "x"\nname = "x"\nsource = "x"\n'
POD, NO_POD = '["brake_pod"]', "no component is called 'brake_pod'"
NO_KEY = "Extra inputs are not permitted"


@pytest.mark.parametrize(
    ("name", "added", "told"),
    [
        ("urgency.toml", f'{RULE}why = "x"\ncomponents = {POD}', f"rule.odd.components: {NO_POD}"),
        ("urgency.toml", f'{RULE}why = "x"\nconditions = ["sad"]', "rule.odd.conditions: no condition is called 'sad'"),
        ("urgency.toml", f'{RULE}why = "x"\nactions = ["pray"]', "rule.odd.actions: no action is called 'pray'"),
        ("urgency.toml", f'{RULE}why = "x"\nspeed = 1', f"rule.odd.speed: {NO_KEY}"),
        ("urgency.toml", RULE, "rule.odd.why: Field required"),
        ("urgency.toml", '[rule.odd]\nwhen = "tomorrow"\nwhy = "x"', "rule.odd.when: Input should be"),
        ("goes_with.toml", f"{JOB}parts = {POD}", f"job.odd.parts: {NO_POD}"),
        ("goes_with.toml", f'{JOB}actions = ["pray"]', "job.odd.actions: no action is called 'pray'"),
        ("inspection.toml", f"{ITEM}components = {POD}", "item.odd"),
        ("plain_words.toml", '[system.magic]\ntext = "x"', "system: no system is called 'magic'"),
        ("plain_words.toml", '[condition_class.sadness]\ntext = "x"', "condition_class.sadness.[key]: Input should be"),
    ],
)
def test_other_bad_rules(refused: Refused, name: str, added: str, told: str) -> None:
    (problem,) = refused(name, added)
    assert problem.startswith(f"rules/{name}: {told}")
    assert "\n" not in problem


def test_every_mistake_of_every_file_is_told_at_once(folder: Path) -> None:
    for name, added in (("limits.toml", limit(source=None) + limit(least=None)), ("urgency.toml", "[rule.odd]")):
        file = folder / name
        file.write_text(f"{file.read_text('utf-8')}\n{added}", "utf-8")
    with pytest.raises(LexiconError) as told:
        load_rules(load_lexicon(), folder)
    assert len(told.value.problems) == 4
    assert "4 mistakes" in str(told.value)


def test_a_missing_file_and_one_that_is_no_toml(folder: Path) -> None:
    (folder / "limits.toml").unlink()
    (folder / "urgency.toml").write_text("when it rains", "utf-8")
    (folder / "inspection.toml").write_bytes(b"\xff\xfe")
    with pytest.raises(LexiconError) as told:
        load_rules(load_lexicon(), folder)
    missing, inspection, urgency = sorted(told.value.problems, key=lambda each: ("missing" not in each, each))
    assert missing == "rules/limits.toml: the file is missing"
    assert inspection.startswith("rules/inspection.toml: not valid TOML: ")
    assert urgency.startswith("rules/urgency.toml: not valid TOML: ")


def test_what_is_said_of_every_system_must_stay_complete(folder: Path) -> None:
    file = folder / "plain_words.toml"
    file.write_text(file.read_text("utf-8").replace("[system.wheels]", "[system.brakes_too]"), "utf-8")
    with pytest.raises(LexiconError) as told:
        load_rules(load_lexicon(), folder)
    assert told.value.problems == (
        "rules/plain_words.toml: system: no system is called 'brakes_too'",
        "rules/plain_words.toml: system: nothing is said for 'wheels'",
    )


def test_a_spread_of_an_unknown_component(refused: Refused) -> None:
    added = '[[spread]]\ncomponents = ["brake_pod"]\nquantity = "thickness"\nmost = "2"\nunit = "mm"\ntext = "x"'
    (problem,) = refused("limits.toml", added)
    assert problem.startswith(f"rules/limits.toml: spread.{count('spread')}.components: no component")


def test_a_reason_with_an_unknown_brace(refused: Refused) -> None:
    (problem,) = refused("urgency.toml", '[rule.odd]\nwhen = "this_visit"\nwhy = "{colour} of {part}"')
    assert problem.startswith("rules/urgency.toml: rule.odd.why: ")


# ---- A shop's own file

SHOP_HEAD = 'schema = "narrate.rules/1"\n'
SHOP_LIMIT = '[[limit]]\ncomponents = ["brake_pad"]\nquantity = "thickness"\nunit = "mm"\n'


def laid(tmp_path: Path, content: str) -> Rules:
    file = tmp_path / "own.toml"
    file.write_text(content, "utf-8")
    return lay_shop_rules_over(load_rules(load_lexicon()), file, load_lexicon())


def test_a_shops_limit_takes_the_place_of_narrates(tmp_path: Path) -> None:
    before = load_rules(load_lexicon())
    after = laid(tmp_path, f'{SHOP_HEAD}{SHOP_LIMIT}least = "4"\n')
    own = [each for each in after.limits if each.rule_set == "shop" and "brake_pad" in each.components]
    assert [(each.least, each.source) for each in own] == [(Decimal(4), NO_SOURCE)]
    assert [each for each in after.limits if each.rule_set != "shop"] == [
        each for each in before.limits if each.rule_set != "shop"
    ]
    assert after.digest != before.digest
    assert after.inspection == before.inspection


def test_other_parts_of_a_limit_keep_narrates(tmp_path: Path) -> None:
    content = SHOP_LIMIT.replace("brake_pad", "brake_shoe") + 'least = "1"\n'
    after = laid(tmp_path, SHOP_HEAD + content)
    shoes = {c: each.least for each in after.limits if each.rule_set == "shop" for c in each.components if "shoe" in c}
    assert shoes == {"parking_brake_shoe": 2, "brake_shoe": 1}


def test_a_shops_list_is_the_whole_list(tmp_path: Path) -> None:
    after = laid(tmp_path, f'{SHOP_HEAD}[item.pads]\nname = "pads"\ncomponents = ["brake_pad"]\n')
    assert [(key, item.name) for key, item in after.inspection.items()] == [("pads", "pads")]


def test_an_empty_file_changes_nothing_but_the_digest(tmp_path: Path) -> None:
    before, after = load_rules(load_lexicon()), laid(tmp_path, SHOP_HEAD)
    assert (after.limits, after.inspection) == (before.limits, before.inspection)


@pytest.mark.parametrize(
    ("content", "told"),
    [
        (SHOP_LIMIT, "limit.0: "),
        (f'{SHOP_LIMIT}least = "3"\nmost = "4"', "limit.0: "),
        (
            SHOP_LIMIT.replace("brake_pad", "brake_pod") + 'least = "3"',
            "limit.0.components: no component is called 'brake_pod'",
        ),
        (
            SHOP_LIMIT.replace("thickness", "hardness") + 'least = "3"',
            "limit.0.quantity: 'hardness' is not measured of 'brake_pad'",
        ),
        (
            SHOP_LIMIT.replace("mm", "psi") + 'least = "3"',
            "limit.0.unit: 'thickness' of 'brake_pad' is measured in 1/32in, in, mm",
        ),
        (f'{SHOP_LIMIT}least = "3"\ncolour = "green"', "limit.0.colour: Extra inputs are not permitted"),
        (f'{SHOP_LIMIT}least = "three"', "limit.0.least: "),
        ('[item.odd]\nname = "x"\ncomponents = ["brake_pod"]', "item.odd"),
        ("[urgent]", "urgent: Extra inputs are not permitted"),
    ],
)
def test_a_bad_shop_file(tmp_path: Path, content: str, told: str) -> None:
    with pytest.raises(UsageError) as error:
        laid(tmp_path, SHOP_HEAD + content)
    message = str(error.value)
    assert message.startswith(f"{tmp_path / 'own.toml'}: {told}")
    assert message.endswith("; correct it.")
    assert "\n" not in message


def test_a_unit_there_is_not_in_a_shop_file_is_told_beside_those_of_the_part(tmp_path: Path) -> None:
    with pytest.raises(UsageError) as error:
        laid(tmp_path, SHOP_HEAD + SHOP_LIMIT.replace("mm", "furlong") + 'least = "3"')
    place = f"{tmp_path / 'own.toml'}: limit.0.unit"
    assert str(error.value).splitlines() == [
        f"{place}: no unit is written 'furlong'; correct it.",
        f"{place}: 'thickness' of 'brake_pad' is measured in 1/32in, in, mm; correct it.",
    ]


def test_every_mistake_of_a_shop_file_has_a_line(tmp_path: Path) -> None:
    wrong = SHOP_LIMIT.replace("brake_pad", "brake_pod") + 'least = "3"\n'
    with pytest.raises(UsageError) as error:
        laid(tmp_path, SHOP_HEAD + wrong + wrong)
    assert [line.split(": ")[1] for line in str(error.value).splitlines()] == [
        "limit.0.components",
        "limit.1.components",
    ]


def test_a_shop_file_without_its_schema(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"own\.toml: schema: Field required; correct it\."):
        laid(tmp_path, "")


def test_a_shop_file_that_is_no_toml(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"own\.toml is not valid TOML: .*; correct it\.$"):
        laid(tmp_path, "three millimeters")


def test_a_shop_file_that_is_not_there(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"own\.toml cannot be read \(.*\); correct shop_rules in the settings\.$"):
        lay_shop_rules_over(load_rules(load_lexicon()), tmp_path / "own.toml", load_lexicon())


def test_a_shop_limit_without_a_number_is_told_in_plain_words(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"limit\.0: give either least or most; correct it\.$"):
        laid(tmp_path, SHOP_HEAD + SHOP_LIMIT)


def test_a_shop_limit_with_an_empty_source(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="source"):
        laid(tmp_path, f'{SHOP_HEAD}{SHOP_LIMIT}least = "3"\nsource = ""\n')
