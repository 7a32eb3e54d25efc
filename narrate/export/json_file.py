"""The walkaround as JSON, the schemas that describe it, and reading it back."""

from pathlib import Path
from typing import Any

from pydantic import BaseModel, ValidationError
from pydantic.json_schema import JsonSchemaMode
from pydantic_core import from_json

from narrate.atomic import write_atomically
from narrate.errors import RecordError, UsageError
from narrate.records.case import Case
from narrate.records.day import Day
from narrate.records.estimate import Estimate
from narrate.records.recording import Recording
from narrate.records.walkaround import SCHEMA, Walkaround

DIALECT = "https://json-schema.org/draft/2020-12/schema"

# What narrate writes is described as written; what a person writes, as it may be written.
_RECORDS: dict[str, tuple[type[BaseModel], JsonSchemaMode]] = {
    "case": (Case, "validation"),
    "day": (Day, "serialization"),
    "estimate": (Estimate, "serialization"),
    "recording": (Recording, "serialization"),
    "walkaround": (Walkaround, "serialization"),
}
SCHEMA_NAMES = tuple(_RECORDS)


def write_json(walkaround: Walkaround, path: Path) -> None:
    """Write the whole record; amounts are decimal strings, exact as said."""
    content = walkaround.model_dump_json(by_alias=True, indent=2)
    write_atomically(path, content.encode("utf-8") + b"\n")


def read_walkaround(path: Path) -> Walkaround:
    """Read a walkaround that narrate wrote; fields of a later program are kept."""
    try:
        content = path.read_bytes()
    except OSError as error:
        message = f"{path} cannot be read ({error.strerror}); give the JSON file of a walkaround."
        raise RecordError(message) from error
    try:
        loaded = from_json(content)
    except ValueError as error:
        message = f"{path} is not JSON ({error}); give a file that narrate wrote."
        raise RecordError(message) from error
    found = loaded.get("schema") if isinstance(loaded, dict) else None
    if found != SCHEMA:
        message = f"{path} is no {SCHEMA} record (its schema is {found!r}); give a file narrate wrote."
        raise RecordError(message)
    try:
        return Walkaround.model_validate_json(content)
    except ValidationError as error:
        raise RecordError(_sentence(path, error)) from error


def schema(name: str) -> dict[str, Any]:
    """JSON Schema (draft 2020-12) of the record called `name`: one of SCHEMA_NAMES."""
    if name not in _RECORDS:
        message = f"There is no schema called {name!r}; choose one of {', '.join(SCHEMA_NAMES)}."
        raise UsageError(message)
    record, mode = _RECORDS[name]
    described = record.model_json_schema(by_alias=True, mode=mode)
    return {"$schema": DIALECT, "$id": f"narrate.{name}/1"} | described


def _sentence(path: Path, error: ValidationError) -> str:
    first, count = error.errors()[0], error.error_count()
    key = ".".join(str(part) for part in first["loc"]) or "the record"
    more = f" ({count - 1} more like this)" if count > 1 else ""
    return f"{path} differs from {SCHEMA} at {key}: {first['msg']}{more}; correct it or export it again."
