"""The chain that the events form: each carries the digest of the one before."""

import hashlib
import json
from typing import Any

GENESIS = "0" * 64
"""What stands as `previous` in the first event."""


def canonical(body: dict[str, Any]) -> str:
    """Return JSON that is the same for the same values."""
    return json.dumps(body, sort_keys=True, separators=(",", ":"), ensure_ascii=False, allow_nan=False)


def digest_of(text: str) -> str:
    """Return the SHA-256 of a text's UTF-8 bytes, 64 hexadecimal digits."""
    return hashlib.sha256(text.encode()).hexdigest()


def link(*, previous: str, number: int, stream: str, at: str, who: str, what: str, content: str) -> str:
    """Return an event's digest. The parts go in as JSON, so that no two events read alike."""
    return digest_of(json.dumps([previous, number, stream, at, who, what, content], ensure_ascii=False))
