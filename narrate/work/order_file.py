"""An order as a person or a shop's program writes it: TOML or JSON, read strictly."""

import json
import re
import tomllib
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from narrate.errors import UsageError
from narrate.records.order import Order


def read_order(path: Path) -> Order:
    """Read an order; raises UsageError with one line a mistake, naming file and key."""
    try:
        return Order.model_validate(_read(path))
    except ValidationError as errors:
        lines = []
        for error in errors.errors():
            key = ".".join(str(part) for part in error["loc"]) or "the order"
            if error["type"] == "extra_forbidden":
                lines.append(f"{path}: {key}: unknown key; take it out or correct its name.")
            else:
                lines.append(f"{path}: {key}: {error['msg']}, not {error['input']!r}; correct it.")
        raise UsageError("\n".join(lines)) from errors


def _read(path: Path) -> Any:  # noqa: ANN401 - whatever the file holds; it is checked next
    try:
        text = path.read_text("utf-8-sig")
        return json.loads(text) if text.lstrip().startswith("{") else tomllib.loads(text)
    except OSError as error:
        message = f"{path} cannot be read ({error.strerror}); give an order as TOML or JSON."
        raise UsageError(message) from error
    except tomllib.TOMLDecodeError as error:
        raise UsageError(_toml_mistake(path, text, str(error))) from error
    except ValueError as error:  # not UTF-8, or not JSON
        message = f"{path} is neither TOML nor JSON ({error}); correct it."
        raise UsageError(message) from error


def _toml_mistake(path: Path, text: str, mistake: str) -> str:
    """One sentence with the key that stands on the line of a mistake, where it is one of a value."""
    line = re.search(r"at line (\d+)", mistake)
    written = text.splitlines()[int(line[1]) - 1] if line else ""
    key, equals, _ = written.partition("=")
    if equals and "date" in mistake.lower():
        return f"{path}: {key.strip()}: {mistake}; correct it."
    return f"{path} is neither TOML nor JSON ({mistake}); correct it."
