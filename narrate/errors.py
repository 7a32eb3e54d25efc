"""Every error narrate raises on purpose: one sentence saying what is wrong and what to do."""


class NarrateError(Exception):
    """The base of all expected errors; the command line prints it without a traceback (exit 1)."""


class UsageError(NarrateError):
    """The request itself is wrong: a bad option, a file that cannot be what was asked for (exit 2)."""


class AudioError(NarrateError):
    """A recording that cannot be used, and why."""


class ModelError(NarrateError):
    """A speech model that is missing, damaged or unknown."""


class LexiconError(NarrateError):
    """The lexicon has mistakes; `problems` lists all of them, one sentence each."""

    def __init__(self, problems: tuple[str, ...]) -> None:
        self.problems = problems
        count = len(problems)
        head = f"The lexicon has {count} mistake{'' if count == 1 else 's'}; correct the files named:"
        super().__init__("\n".join((head, *(f"  {problem}" for problem in problems))))


class RecordError(NarrateError):
    """A file that should hold a record does not, and where it differs."""


class ReplayError(NarrateError):
    """A recorded path does not lead to the finding it is said to explain."""


class StoreError(NarrateError):
    """The shop's store cannot be opened, read or written, or does not hold together."""


class MissingError(NarrateError):
    """Something was asked for that the store does not hold."""


class ConflictError(NarrateError):
    """Someone else has changed this since it was shown; nothing was overwritten."""
