"""The shop's settings, every environment variable, and where narrate's own files lie.

Settings come from three places, the later winning: the defaults below, the shop's `settings.toml`, and
environment variables named after the keys (`NARRATE_MODEL`, `NARRATE_BEAM_SIZE`, …). Other variables:
`NARRATE_SETTINGS` (the settings file), `NARRATE_CACHE` (the folder for what can be made again),
`NARRATE_DATA` (the folder for what the shop keeps), `NARRATE_STORE` (a PostgreSQL database for the shop's
records, where several machines share them), `NARRATE_AUDIO` (where those machines share recordings) and
`NARRATE_LOG` (a file that the page and the workers log to, `-` for standard error).
"""

import hashlib
import json
import os
import tomllib
from pathlib import Path
from typing import Any, Literal

import platformdirs
from pydantic import Field, ValidationError

from narrate.errors import NarrateError, UsageError
from narrate.records.base import Written

Side = Literal["left", "right"]
ProjectFolder = Literal["lexicon", "models", "sample_audio"]


class Settings(Written):
    """What a shop can set. Every key has a default that suits a shop in the United States."""

    market: Literal["us", "gb", "eu"] = "us"
    """Which words, units and rules apply."""
    drive_side: Side | None = None
    """Where the driver sits; None takes the side usual in the market. See `driver_sits`."""
    model: str = "base"
    """A speech model: a name of models/manifest.toml, a folder, or a name faster-whisper can fetch."""
    device: Literal["cpu", "cuda"] = "cpu"
    """What recognises speech: the processor, or a CUDA card."""
    compute_type: Literal["int8", "int8_float32", "float32"] = "int8"
    beam_size: int = Field(default=5, ge=1, le=10)
    max_duration_s: float = Field(default=10_800.0, gt=0)
    """The longest recording taken, seconds."""
    min_duration_s: float = Field(default=0.3, ge=0)
    """The shortest recording taken, seconds."""
    threads: int = Field(default=0, ge=0)
    """Processor threads for recognition; 0 takes all."""
    batch_size: int = Field(default=0, ge=0, le=32)
    """Windows recognised at once; 0 chooses by the memory there is."""
    hints: bool = True
    """Whether recognition is biased towards part names."""
    second_hearing: bool = False
    """Whether doubtful stretches are heard again, listening for parts of the systems talked about; needs `hints`.

    Off: with base it takes twice the time and hears no better (docs/accuracy.md).
    """

    rule_set: str | None = None
    """Whose limits numbers are held against: a rule set of lexicon/rules/limits.toml; None takes the market's."""
    shop_rules: Path | None = None
    """A file with the shop's own limits and its own inspection list; see docs/judging.md."""

    @property
    def driver_sits(self) -> Side:
        """The driver's side: as set, else the one usual in the market."""
        return self.drive_side or ("right" if self.market == "gb" else "left")


def load_settings(path: Path | None = None) -> Settings:
    """Return the settings in `path`, else in the file NARRATE_SETTINGS names, else in the shop's own file.

    The shop's own file may be missing; one that was named may not.
    Raises UsageError naming the file (or the variable) and the key.
    """
    named = path or _path_from("NARRATE_SETTINGS")
    file = named or platformdirs.user_config_path("narrate") / "settings.toml"
    if named and not named.is_file():
        message = f"There is no settings file {named}; correct the name, or leave it out to use the defaults."
        raise UsageError(message)
    values = _read(file) if file.is_file() else {}
    _check(values, {key: f"{file}: {key}" for key in values})
    variables = {key: f"NARRATE_{key.upper()}" for key in Settings.model_fields}
    overrides = {key: os.environ[name] for key, name in variables.items() if os.environ.get(name)}
    return _check({**values, **overrides}, variables)


def digest(settings: Settings) -> str:
    """Return `sha256:…` over all settings, the same for the same settings."""
    canonical = json.dumps(settings.model_dump(mode="json"), sort_keys=True)
    return f"sha256:{hashlib.sha256(canonical.encode()).hexdigest()}"


def cache_folder() -> Path:
    """Return the folder for what can be made again; it may not exist yet."""
    return _path_from("NARRATE_CACHE") or platformdirs.user_cache_path("narrate")


def data_folder(given: Path | None = None) -> Path:
    """Return the folder for what the shop keeps, `given` first; it may not exist yet."""
    return given or _path_from("NARRATE_DATA") or platformdirs.user_data_path("narrate")


def store_url() -> str | None:
    """Return the address of the shop's PostgreSQL database, or None: then the records lie in the data folder."""
    return os.environ.get("NARRATE_STORE") or None


def audio_address() -> str | None:
    """Return where several machines share recordings, or None: then they have one data folder."""
    return os.environ.get("NARRATE_AUDIO") or None


def log_place() -> str | None:
    """Return where to log to, or None."""
    return os.environ.get("NARRATE_LOG") or None


def project_folder(kind: ProjectFolder) -> Path:
    """Return the folder of narrate's own files of a kind, in a wheel, an editable install or a checkout.

    Raises NarrateError if it is in none of these places.
    """
    package = Path(__file__).parent
    # A wheel carries the folder inside the package and a checkout never has it there. The package comes
    # first because beside an installed package other people's folders may bear the same name.
    for folder in (package / "_data" / kind, package.parent / kind):
        if folder.is_dir():
            return folder
    message = f"narrate was installed without its folder {kind!r}; install it again."
    raise NarrateError(message)


def _read(file: Path) -> dict[str, Any]:
    """Return the keys of a settings file, or raise UsageError."""
    try:
        return tomllib.loads(file.read_text("utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        message = f"{file} is not valid TOML: {error}; correct it."
        raise UsageError(message) from error
    except OSError as error:
        message = f"{file} cannot be read ({error.strerror}); check its permissions."
        raise UsageError(message) from error


def _check(values: dict[str, Any], places: dict[str, str]) -> Settings:
    """Return the settings, or raise UsageError with one line a mistake; `places` says where a key stands."""
    try:
        return Settings(**values)
    except ValidationError as error:
        lines = []
        for mistake in error.errors():
            key = str(mistake["loc"][0])
            place = places.get(key, key)
            if mistake["type"] == "extra_forbidden":
                lines.append(f"{place}: unknown key; the keys are {', '.join(Settings.model_fields)}.")
            else:
                lines.append(f"{place}: {mistake['msg']}, not {mistake['input']!r}; correct it.")
        raise UsageError("\n".join(lines)) from error


def _path_from(variable: str) -> Path | None:
    """Return the path in an environment variable, or None when it is unset or empty."""
    text = os.environ.get(variable)
    return Path(text).expanduser() if text else None
