"""What narrate refuses, as a page's answer: which status goes with which kind."""

from narrate.errors import AudioError, ConflictError, MissingError, NarrateError, StoreError, UsageError

STATUS: tuple[tuple[type[NarrateError], int], ...] = (
    (MissingError, 404),
    (ConflictError, 409),
    (UsageError, 422),
    (AudioError, 422),
    (StoreError, 503),
)


def status_of(error: NarrateError) -> int:
    """Return the HTTP status of an error; 500 for what is no fault of the request."""
    return next((status for kind, status in STATUS if isinstance(error, kind)), 500)
