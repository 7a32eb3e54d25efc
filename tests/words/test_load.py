"""Reading a lexicon: every mistake is told with its place, and what was checked once is kept."""

from pathlib import Path

import pytest

from narrate.errors import LexiconError
from narrate.words import load
from narrate.words.load import load_lexicon


@pytest.fixture(autouse=True)
def nothing_is_ready(monkeypatch: pytest.MonkeyPatch) -> None:
    """Each test reads its files itself, whatever was compiled before."""
    monkeypatch.setattr(load, "_ready", {})


def change(file: Path, old: str, new: str) -> None:
    text = file.read_text("utf-8")
    assert old in text
    file.write_text(text.replace(old, new), "utf-8")


def problems(folder: Path) -> tuple[str, ...]:
    with pytest.raises(LexiconError) as raised:
        load_lexicon(folder)
    return raised.value.problems


def test_a_whole_folder_is_read(folder: Path) -> None:
    """A lexicon without mistakes has its words and its ids."""
    lexicon = load_lexicon(folder)
    assert ["brake_rotor", "brake_system", "brake_fluid"] == list(lexicon.components)
    assert "brakes" == lexicon.system_of["brake_rotor"]
    assert ("rotors",) == lexicon.hints
    assert frozenset(("no", "disc", "rotor")) == lexicon.everyday
    assert lexicon.digest.startswith("sha256:")


def test_an_unknown_key_is_told_with_file_line_and_key(folder: Path) -> None:
    """A key nobody reads is a mistake, and its line is named."""
    change(folder / "systems/brakes.toml", 'gb = "brake disc"', 'uk = "brake disc"')
    (problem,) = problems(folder)
    assert problem.startswith("systems/brakes.toml:8: component.brake_rotor.uk: ")


def test_a_wrong_type_is_told_with_file_line_and_key(folder: Path) -> None:
    """A word where a list belongs is a mistake."""
    change(folder / "conditions.toml", 'aliases = ["worn out"]', 'aliases = "worn out"')
    (problem,) = problems(folder)
    assert problem.startswith("conditions.toml:6: condition.worn.aliases: ")


def test_a_missing_file_is_told(folder: Path) -> None:
    """A lexicon without cues is not whole."""
    (folder / "cues.toml").unlink()
    assert ("cues.toml: the file is missing",) == problems(folder)


def test_what_is_no_toml_is_told(folder: Path) -> None:
    """A file that cannot be read as TOML is named."""
    (folder / "actions.toml").write_text("[action", "utf-8")
    (problem,) = problems(folder)
    assert problem.startswith("actions.toml: not valid TOML: ")


def test_mistakes_of_several_files_are_told_at_once(folder: Path) -> None:
    """Nobody has to correct one mistake to be told the next."""
    change(folder / "systems/brakes.toml", "places = ", "place = ")
    change(folder / "kinds.toml", "mass = true", 'mass = "heavy"')
    (folder / "hints.toml").unlink()
    told = problems(folder)
    assert {"hints.toml", "kinds.toml", "systems/brakes.toml"} == {line.split(":")[0] for line in told}


def test_unknown_kind_and_parent_are_told_at_once(folder: Path) -> None:
    """A reference to an id that does not exist names what refers to it."""
    change(folder / "systems/brakes.toml", 'kind = "fluid"', 'kind = "soup"')
    change(folder / "systems/brakes.toml", 'parent = "brake_system"', 'parent = "wheels"')
    told = problems(folder)
    lines = (folder / "systems/brakes.toml").read_text("utf-8").splitlines()
    kind, parent = lines.index('kind = "soup"') + 1, lines.index('parent = "wheels"') + 1
    assert {
        f"systems/brakes.toml:{kind}: component.brake_fluid.kind: no kind is called 'soup'",
        f"systems/brakes.toml:{parent}: component.brake_rotor.parent: no component is called 'wheels'",
    } == set(told)


def test_a_name_needing_context_must_be_a_name(folder: Path) -> None:
    """needs_context cannot list what is nowhere a name."""
    change(folder / "systems/brakes.toml", 'needs_context = ["disc"]', 'needs_context = ["platter"]')
    (problem,) = problems(folder)
    assert "component.brake_rotor.needs_context" in problem
    assert "'platter'" in problem


def test_an_id_defined_twice_is_told(folder: Path) -> None:
    """Two files cannot define the same component."""
    (folder / "systems/more.toml").write_text((folder / "systems/brakes.toml").read_text("utf-8"), "utf-8")
    told = problems(folder)
    assert 3 == sum("also defined in systems/brakes.toml" in line for line in told)


@pytest.mark.parametrize("name", ["Rotor", " rotor", "brake  rotor", ""])
def test_a_phrase_is_plain(folder: Path, name: str) -> None:
    """Names are lower case with single blanks, so that they can be compared."""
    change(folder / "systems/brakes.toml", 'name = "brake rotor"', f'name = "{name}"')
    (problem,) = problems(folder)
    assert "component.brake_rotor.name" in problem


def test_what_was_checked_once_is_not_checked_again(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The second reading comes from the cache and is the same."""
    first = load_lexicon(folder)

    def no_check(_: object) -> None:
        message = "checked again"
        raise AssertionError(message)

    monkeypatch.setattr(load, "_check", no_check)
    second = load_lexicon(folder)
    assert first.digest == second.digest
    assert list(first.phrases()) == list(second.phrases())


def test_a_change_is_seen_in_spite_of_the_cache(folder: Path) -> None:
    """The cache goes by content, so a changed file is read and has another digest."""
    first = load_lexicon(folder)
    change(folder / "systems/brakes.toml", '"rotor", "disc"', '"rotor", "disc", "brake plate"')
    second = load_lexicon(folder)
    assert first.digest != second.digest
    assert ("rotor", "disc", "brake plate") == second.components["brake_rotor"].aliases


def test_a_damaged_cache_is_passed_over(folder: Path, tmp_path: Path) -> None:
    """A cache file cut short is no error: the lexicon is checked again."""
    first = load_lexicon(folder)
    (kept,) = (tmp_path / "cache" / "lexicon").iterdir()
    kept.write_bytes(kept.read_bytes()[:100])
    load._ready.clear()
    second = load_lexicon(folder)
    assert second is not first
    assert first.digest == second.digest


def test_the_same_bytes_are_compiled_once(folder: Path) -> None:
    """Within one run the same files give the same object; changed ones another."""
    first = load_lexicon(folder)
    assert load_lexicon(folder) is first
    hints = folder / "hints.toml"
    hints.write_bytes(hints.read_bytes() + b"\n# another byte\n")
    assert load_lexicon(folder) is not first


def test_a_cache_that_cannot_be_written_is_no_error(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a cache the lexicon is only read more slowly."""
    monkeypatch.setenv("NARRATE_CACHE", str(folder / "hints.toml" / "no folder"))
    assert 3 == len(load_lexicon(folder).components)
