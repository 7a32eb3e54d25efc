"""Settings come from defaults, the shop's file and the environment, and mistakes are named."""

from pathlib import Path

import pytest

from narrate.errors import UsageError
from narrate.settings import Settings, cache_folder, digest, load_settings, project_folder


@pytest.fixture(autouse=True)
def clean_environment(monkeypatch, tmp_path):
    """No settings of the machine that runs the tests count."""
    for key in Settings.model_fields:
        monkeypatch.delenv(f"NARRATE_{key.upper()}", raising=False)
    monkeypatch.delenv("NARRATE_SETTINGS", raising=False)
    monkeypatch.setattr("platformdirs.user_config_path", lambda name: tmp_path / "config" / name)


def write(folder: Path, text: str) -> Path:
    path = folder / "settings.toml"
    path.write_text(text, "utf-8")
    return path


def test_defaults_need_no_file():
    """A shop that sets nothing gets the defaults."""
    assert load_settings() == Settings()


def test_the_shops_own_file_is_read(tmp_path):
    """The file in the platform's settings folder counts."""
    folder = tmp_path / "config" / "narrate"
    folder.mkdir(parents=True)
    write(folder, 'market = "gb"\nthreads = 2\n')
    settings = load_settings()
    assert (settings.market, settings.threads) == ("gb", 2)


def test_a_file_named_by_the_environment_is_read(tmp_path, monkeypatch):
    """NARRATE_SETTINGS names another file."""
    monkeypatch.setenv("NARRATE_SETTINGS", str(write(tmp_path, 'model = "tiny.en"\n')))
    assert load_settings().model == "tiny.en"


def test_variables_win_over_the_file(tmp_path, monkeypatch):
    """A variable is for one run, the file for every day."""
    monkeypatch.setenv("NARRATE_MODEL", "tiny.en")
    monkeypatch.setenv("NARRATE_HINTS", "false")
    settings = load_settings(write(tmp_path, 'model = "base"\nbeam_size = 3\n'))
    assert (settings.model, settings.hints, settings.beam_size) == ("tiny.en", False, 3)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("beams = 5\n", "settings.toml: beams: unknown key; the keys are market,"),
        ("beam_size = 99\n", "settings.toml: beam_size: Input should be less than or equal to 10, not 99"),
        ('market = "fr"\n', "settings.toml: market: Input should be 'us', 'gb' or 'eu', not 'fr'"),
        ("market = \n", "settings.toml is not valid TOML: "),
    ],
)
def test_a_mistake_names_file_and_key(text, sentence, tmp_path):
    """One line a mistake, with the file, the key and what would be right."""
    with pytest.raises(UsageError) as caught:
        load_settings(write(tmp_path, text))
    assert sentence in str(caught.value)


def test_a_mistake_in_a_variable_names_the_variable(monkeypatch):
    """Nobody looks into the file for it."""
    monkeypatch.setenv("NARRATE_MARKET", "fr")
    with pytest.raises(UsageError, match=r"^NARRATE_MARKET: Input should be"):
        load_settings()


def test_a_named_file_must_exist(tmp_path):
    """Only the shop's own file may be missing."""
    with pytest.raises(UsageError, match=r"There is no settings file .*gone\.toml"):
        load_settings(tmp_path / "gone.toml")


@pytest.mark.parametrize(
    ("market", "drive_side", "expected"),
    [("us", None, "left"), ("eu", None, "left"), ("gb", None, "right"), ("gb", "left", "left")],
)
def test_the_driver_sits_as_is_usual_in_the_market(market, drive_side, expected):
    """Unless the settings say otherwise."""
    assert expected == Settings(market=market, drive_side=drive_side).driver_sits


def test_digest_follows_the_settings():
    """Equal settings have one digest, others another."""
    assert digest(Settings()) == digest(Settings())
    assert digest(Settings()) != digest(Settings(beam_size=4))
    assert digest(Settings()).startswith("sha256:")


def test_cache_folder_can_be_named(monkeypatch, tmp_path):
    """NARRATE_CACHE moves the cache."""
    monkeypatch.setenv("NARRATE_CACHE", str(tmp_path))
    assert cache_folder() == tmp_path


def test_project_folders_are_found():
    """The manifest of models is there whatever way narrate was installed."""
    assert (project_folder("models") / "manifest.toml").is_file()
