"""Published texts with published answers, read from their files; no narrate in here.

The small copies lie in tests/data, each with its licence note; tests/benchmarks/outside.py reads whole files.
"""

import csv
import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from pathlib import Path
from pydoc_data.topics import topics
from typing import Any

CODE = re.compile(r"::=|>>>|==|\+--|^\W*(def|class) ")
Span = tuple[int, int]
"""First and last word, inclusive."""


@dataclass(frozen=True)
class WorkOrder:
    """One maintenance text of MaintIE: its words, and which of them are objects and states."""

    words: tuple[str, ...]
    objects: tuple[Span, ...]
    states: tuple[Span, ...]
    processes: tuple[Span, ...]
    """Undesirable ones: leaking, cracking, overheating."""
    troubled: bool
    """Whether anything in it is annotated as undesirable."""

    def text(self, span: Span) -> str:
        """The words of a span."""
        return " ".join(self.words[span[0] : span[1] + 1])


def work_orders(path: Path) -> list[WorkOrder]:
    """The texts of MaintIE; of nested objects ("air filters" and its "filters") only the outermost."""
    return [_work_order(one) for one in json.loads(path.read_text("utf-8"))]


def _work_order(one: dict[str, Any]) -> WorkOrder:
    def spans(kind: str) -> tuple[Span, ...]:
        found = {(e["start"], e["end"] - 1) for e in one["entities"] if e["type"].split("/")[0] == kind}
        return tuple(sorted(s for s in found if not any(_inside(s, other) for other in found)))

    troubled = any("Undesirable" in e["type"] for e in one["entities"])
    return WorkOrder(tuple(one["tokens"]), spans("PhysicalObject"), spans("State"), spans("Process"), troubled)


def _inside(span: Span, other: Span) -> bool:
    return span != other and other[0] <= span[0] and span[1] <= other[1]


@dataclass(frozen=True)
class Question:
    """One question of Disfl-QA as it was written, and with a slip of the tongue put right in it."""

    original: str
    disfluent: str


def questions(path: Path) -> list[Question]:
    """The questions in the order of the file."""
    return [Question(one["original"], one["disfluent"]) for one in json.loads(path.read_text("utf-8")).values()]


@dataclass(frozen=True)
class Quantity:
    """A value and the name quantulum3 gives its unit; a range has a `high` above its `low`."""

    low: Decimal
    high: Decimal
    unit: str


def quantities(path: Path) -> list[tuple[str, tuple[Quantity, ...]]]:
    """(text, quantities in it) of quantulum3's own test cases."""
    cases = json.loads(path.read_text("utf-8"), parse_float=Decimal, parse_int=Decimal)
    return [(case["req"], tuple(_quantity(one) for one in case["res"])) for case in cases]


def _quantity(one: dict[str, Any]) -> Quantity:
    spread = one.get("uncertainty") or Decimal(0)
    return Quantity(one["value"] - spread, one["value"] + spread, str(one["unit"]))


def complaints(path: Path) -> list[tuple[str, str]]:
    """(component description, narrative) of drivers' complaints, in lower case: they wrote in capitals."""
    with path.open(encoding="utf-8", newline="") as stream:
        rows = list(csv.DictReader(stream, delimiter="\t", quoting=csv.QUOTE_NONE))
    return [(row["compdesc"], row["narrative"].lower()) for row in rows]


def nemo_sentences(folder: Path) -> list[str]:
    """The spoken side of NeMo's cases that are sentences rather than bare numbers."""
    lines = [line for path in sorted(folder.glob("test_cases_*.txt")) for line in path.read_text("utf-8").splitlines()]
    spoken = dict.fromkeys(line.partition("~")[0].strip() for line in lines)
    return [text for text in spoken if len(text.split()) >= 6]


def python_topics() -> list[str]:
    """The prose of Python's own help topics (PSF licence), one text a topic; code, grammar and tables left out."""
    seen: set[str] = set()
    return [prose for _, topic in sorted(topics.items()) if (prose := " ".join(_sentences(topic, seen)))]


def _sentences(topic: str, seen: set[str]) -> Iterator[str]:
    """The paragraphs of a topic that read as sentences, without quotation and emphasis marks, each only once."""
    for block in re.split(r"\n\s*\n", topic):
        text = re.sub(r"[*`“”\"|]", "", " ".join(block.split())).strip()
        if text in seen or len(text.split()) < 6 or text[-1] not in ".:!?)" or CODE.search(text):
            continue
        seen.add(text)
        yield text
