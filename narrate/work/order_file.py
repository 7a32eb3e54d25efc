"""An order as a person or a shop's program writes it: TOML or JSON, read strictly."""

import json
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
    except ValueError as error:  # not UTF-8, not JSON or not TOML
        message = f"{path} is neither TOML nor JSON ({error}); correct it."
        raise UsageError(message) from error
