"""The numbers a score is made of."""

from dataclasses import dataclass
from typing import Literal, get_args

Field = Literal["component", "location", "status", "condition", "action"]
Beside = Literal["amount", "price", "code", "concern link", "suggested link"]
Detail = Literal["reason", "consequence", "timing", "while open", "test", "part option", "urgency"]
OfCase = Literal["heading", "second vehicle"]
Counted = Literal[Field, "whole", Beside, Detail, OfCase]
FIELDS: tuple[Field, ...] = ("component", "location", "status", "condition", "action")
COUNTED: tuple[Counted, ...] = (
    *FIELDS,
    "whole",
    *get_args(Beside),
    *get_args(Detail),
    *get_args(OfCase),
)


@dataclass(frozen=True)
class Counts:
    """How many were right, how many were given and how many were owed."""

    right: int = 0
    given: int = 0
    owed: int = 0

    def __add__(self, other: "Counts") -> "Counts":
        return Counts(self.right + other.right, self.given + other.given, self.owed + other.owed)

    @property
    def precision(self) -> float | None:
        """Of those given, the share that is right; None when none was given."""
        return self.right / self.given if self.given else None

    @property
    def recall(self) -> float | None:
        """Of those owed, the share that is right; None when none was owed."""
        return self.right / self.owed if self.owed else None

    @property
    def f1(self) -> float | None:
        """The harmonic mean of both; None when nothing was given or owed."""
        return 2 * self.right / (self.given + self.owed) if self.given + self.owed else None


@dataclass(frozen=True)
class Share:
    """A part of a whole."""

    part: int = 0
    of: int = 0

    def __add__(self, other: "Share") -> "Share":
        return Share(self.part + other.part, self.of + other.of)

    @property
    def value(self) -> float | None:
        """0 to 1; None when there was nothing to take a share of."""
        return self.part / self.of if self.of else None
