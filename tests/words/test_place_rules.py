"""Places are read strictly: what the law of each wants, with its source; any other place gets the superset."""

from pathlib import Path

import pytest

from narrate.errors import LexiconError
from narrate.settings import project_folder
from narrate.words.place_rules import REQUIRED, load_places, place_rules

PLACES = project_folder("lexicon") / "rules" / "places.toml"


def test_an_unknown_place_has_every_field_and_says_so() -> None:
    """The superset, and a line to check local law."""
    rules = place_rules("nowhere")
    assert REQUIRED == rules.required
    assert any("check it" in text for text in rules.statements)


def test_each_place_is_within_the_superset_and_sourced() -> None:
    """Every rule and statement names where it is from and how that was come by."""
    places = load_places()
    assert {"unknown", "us-fl", "us-mi", "us-md", "us-mn", "us-ca", "us-ny"} == set(places)
    for rules in places.values():
        assert set(rules.required) <= set(REQUIRED)
        assert rules.source
        assert rules.overrun.source
        assert len(rules.statements) == len(rules.statement_sources)


@pytest.mark.parametrize("written", ["FL", "us-fl", "US_FL", " fl "])
def test_a_place_is_found_as_people_write_it(written: str) -> None:
    """With or without its country."""
    assert "Florida" == place_rules(written).name


@pytest.mark.parametrize(
    ("old", "new", "problem"),
    [
        ('how = "read"', 'how = "hearsay"', "how"),
        ('whichever = "greater"', "", "whichever"),
        ('"shop_name"', '"shop_nmae"', "no field is called shop_nmae"),
        ("[place.unknown]", "[place.other]", "unknown"),
        ('schema = "narrate.rules/1"', "schema = ", "not valid TOML"),
        ('percent = "10"', 'percent = "-10"', "percent"),
        ('name = "Florida"', 'name = "Florida"\ncolor = "x"', "color"),
    ],
)
def test_a_mistake_is_told_with_its_key(tmp_path: Path, old: str, new: str, problem: str) -> None:
    """File and key path, in one error."""
    (tmp_path / "places.toml").write_text(PLACES.read_text("utf-8").replace(old, new), "utf-8")
    with pytest.raises(LexiconError, match=problem):
        load_places(tmp_path)


def test_a_missing_file_is_told(tmp_path: Path) -> None:
    """One sentence."""
    with pytest.raises(LexiconError, match="missing"):
        load_places(tmp_path)
