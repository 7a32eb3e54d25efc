"""Labelled narrations as records (format: models/training/README.md)."""

import re
from dataclasses import dataclass
from pathlib import Path

from narrate.find.draft import Draft
from narrate.find.evidence import words_under

MARK = re.compile(r"\[([^\[\]{}]+)\]\{([A-Z])([\d,]*)(?: ([^{}]*))?\}")


@dataclass(frozen=True)
class Marked:
    """One labelled stretch: its kind, inclusive word numbers, the findings it belongs to, and its value."""

    kind: str
    first: int
    last: int
    numbers: frozenset[int]
    value: str


@dataclass(frozen=True)
class Labelled:
    """One labelled narration: words, the finding numbers of each word by kind of label, and the findings."""

    name: str
    drive_side: str
    words: tuple[str, ...]
    numbers: tuple[frozenset[tuple[str, int]], ...]
    status: dict[int, str]
    stretches: tuple[Marked, ...]
    rows: dict[int, tuple[str, ...]]
    """number -> (status, component, locations, conditions, action, …) as written."""


def read_labelled(path: Path) -> Labelled:
    """Parse one file; a word belongs to a label when it overlaps the labelled stretch."""
    head, body, foot = re.split(r"^---\s*$", path.read_text("utf-8"), maxsplit=2, flags=re.M)
    meta = dict(line.split(":", 1) for line in head.strip().splitlines())
    text, spans, at = "", [], 0
    for mark in MARK.finditer(body):
        text += body[at : mark.start()]
        spans.append(
            (
                len(text),
                len(text) + len(mark[1]),
                mark[2],
                frozenset(map(int, filter(None, mark[3].split(",")))),
                mark[4] or "",
            )
        )
        text += mark[1]
        at = mark.end()
    text += body[at:]
    words = list(re.finditer(r"\S+", text))
    under = [[n for n, w in enumerate(words) if a < w.end() and b > w.start()] for a, b, *_ in spans]
    numbers: list[set[tuple[str, int]]] = [set() for _ in words]
    for (_, _, kind, found, _), at_words in zip(spans, under, strict=True):
        for n in at_words:
            numbers[n] |= {(kind, finding) for finding in found}
    rows = [[cell.strip() for cell in line.split("|")] for line in foot.strip().splitlines()]
    return Labelled(
        name=path.stem,
        drive_side=meta["drive_side"].strip(),
        words=tuple(word[0] for word in words),
        numbers=tuple(map(frozenset, numbers)),
        status={int(row[0]): row[1] for row in rows},
        stretches=tuple(
            Marked(kind, ws[0], ws[-1], found, value)
            for (_, _, kind, found, value), ws in zip(spans, under, strict=True)
        ),
        rows={int(row[0]): tuple(row[1:]) for row in rows},
    )


def numbers_of(labelled: Labelled, draft: Draft, first: int, last: int, kinds: str | None = None) -> frozenset[int]:
    """The finding numbers of the words under a stretch of tokens."""
    words = words_under(draft, first, last)
    return frozenset(n for word in words for kind, n in labelled.numbers[word] if kinds is None or kind in kinds)
