"""models/manifest.toml: the speech models that can be installed as packages, file by file."""

import tomllib
from functools import cache
from typing import Literal

from pydantic import Field

from narrate.records.base import Written
from narrate.settings import project_folder


class ModelFile(Written):
    """One file of a model: its pieces lie at `pieces` ("package/folder/file") and are joined in order."""

    name: str
    bytes: int
    sha256: str
    pieces: tuple[str, ...] = Field(alias="from")


class Model(Written):
    """One speech model that can be installed as packages."""

    about: str
    identical_to: str
    revision: str
    licence: str
    packages: tuple[str, ...]
    file: tuple[ModelFile, ...]

    @property
    def in_pieces(self) -> bool:
        """Whether the packages hold it in pieces that must be joined before use."""
        return any(len(file.pieces) > 1 for file in self.file)

    @property
    def total_bytes(self) -> int:
        """Bytes of all files."""
        return sum(file.bytes for file in self.file)


class Manifest(Written):
    """models/manifest.toml."""

    schema_: Literal["narrate.models/1"] = Field(alias="schema")
    model: dict[str, Model]


@cache
def manifest() -> dict[str, Model]:
    """Return the models of models/manifest.toml by name."""
    text = (project_folder("models") / "manifest.toml").read_text("utf-8")
    return Manifest.model_validate(tomllib.loads(text)).model
