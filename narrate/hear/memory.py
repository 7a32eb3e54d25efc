"""How much memory there is."""

from pathlib import Path

ASSUMED_BYTES = 4_000_000_000
"""What is assumed where the system does not say: the least a shop's machine has."""


def available_bytes(source: Path = Path("/proc/meminfo")) -> int:
    """Return the bytes of memory that can be taken without swapping."""
    try:
        lines = source.read_text("ascii").splitlines()
    except OSError:
        return ASSUMED_BYTES
    for line in lines:
        if line.startswith("MemAvailable:"):
            return int(line.split()[1]) * 1024
    return ASSUMED_BYTES
