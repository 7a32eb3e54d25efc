"""What the stages of find/ pass on: a draft that grows, every item with an id and the reason it is there.

Positions are token numbers; `first` and `last` are inclusive. `because` names the earlier items an item rests on,
so that a finding can be explained by following them back, and replayed.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from decimal import Decimal

from narrate.find.encoder import Encoded
from narrate.records.capture import CommandId
from narrate.records.recording import Word


@dataclass(frozen=True, slots=True)
class Token:
    """A comparable word: lower case, spelling unified, punctuation taken off."""

    id: str
    text: str
    first_word: int
    last_word: int
    punctuation: str = ""
    """What stood after it."""
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Command:
    """Something the technician told narrate itself; its words, inclusive numbers, make no tokens."""

    id: str
    key: CommandId
    first_word: int
    last_word: int
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Gap:
    """How strongly a thought seems to end before token `first`: 0 not at all, 1 surely."""

    id: str
    first: int
    strength: float
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Mention:
    """A stretch of tokens that names something of the lexicon."""

    id: str
    family: str
    key: str
    first: int
    last: int
    how: str
    score: float = 1.0
    runner_up: str | None = None
    needs_context: bool = False
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Amount:
    """A number that was said, with its unit if one was said or is plain. Exact; never rounded."""

    id: str
    first: int
    last: int
    value: Decimal
    high: Decimal | None
    unit: str | None
    kind: str
    """`measure`, `price`, `code`, `bare` (no unit said), `limit` or `quiet` (measures nothing)."""
    about: bool = False
    text: str = ""
    """For a code, the code."""
    limit: Decimal | None = None
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Void:
    """An item taken back by the speaker; it stays in the trace and in no finding."""

    id: str
    item: str
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Scope:
    """A stretch whose meaning a cue changes: denied, doubted, the customer's words, …"""

    id: str
    kind: str
    first: int
    last: int
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Link:
    """A dependent (place, condition, action, amount, …) that belongs to a part named or meant."""

    id: str
    head: str
    dependent: str
    probability: float
    because: tuple[str, ...] = ()
    why: str = ""


@dataclass(frozen=True, slots=True)
class Group:
    """Heads that speak of one part, with all that was said of it, and what kind of statement that is."""

    id: str
    heads: tuple[str, ...]
    dependents: tuple[str, ...]
    status: str
    probability: float
    because: tuple[str, ...] = ()
    why: str = ""
    counterpart: bool = False
    """Whether it is about the other one of a kind than the part its first head names."""


Item = Command | Token | Gap | Mention | Amount | Void | Scope | Link | Group


@dataclass(frozen=True, slots=True)
class Draft:
    """Everything the stages have found so far in one recording."""

    words: tuple[Word, ...]
    commands: tuple[Command, ...] = ()
    tokens: tuple[Token, ...] = ()
    gaps: tuple[Gap, ...] = ()
    mentions: tuple[Mention, ...] = ()
    amounts: tuple[Amount, ...] = ()
    voids: tuple[Void, ...] = ()
    scopes: tuple[Scope, ...] = ()
    links: tuple[Link, ...] = ()
    groups: tuple[Group, ...] = ()
    encoded: Encoded | None = field(default=None, compare=False)
    """What the encoder made of the words; no item, since it can be made again from them."""
    heading: tuple[tuple[int, int], ...] = field(default=(), compare=False)
    """Stretches of tokens (inclusive) that speak of the job and the vehicle alone; no item, for the same reason."""

    def items(self) -> Iterator[Item]:
        """All items, in the order the stages made them."""
        for name in FAMILIES:
            yield from getattr(self, name)


FAMILIES = ("commands", "tokens", "gaps", "mentions", "amounts", "voids", "scopes", "links", "groups")
"""The kinds of item, in the order the stages make them."""
