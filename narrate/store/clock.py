"""The time, as the store writes it."""

from datetime import UTC, datetime


def now() -> str:
    """Return the present time: ISO 8601, UTC, milliseconds, as in `2026-11-27T09:50:00.123Z`."""
    return as_text(datetime.now(UTC))


def as_text(moment: datetime) -> str:
    """Return a moment as the store writes it; texts sort as the moments do. `moment` must know its zone."""
    return moment.astimezone(UTC).isoformat(timespec="milliseconds").replace("+00:00", "Z")
