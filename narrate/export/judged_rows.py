"""What judging adds beside the findings, as rows: contradictions, comparisons, suggestions, what is missing."""

from collections.abc import Iterator

from narrate.export.rows import Column, Row
from narrate.records.walkaround import Walkaround

JUDGED_COLUMNS = (
    Column("kind", width=18),
    Column("finding", width=10),
    Column("text", width=80),
    Column("source", width=40),
)


def rows_of_judgement(walkaround: Walkaround) -> list[Row]:
    """One row each in JUDGED_COLUMNS."""
    return list(_rows(walkaround))


def _rows(walkaround: Walkaround) -> Iterator[Row]:
    for each in walkaround.contradictions:
        yield "contradiction", "; ".join(each.between), each.text, None
    for text in walkaround.comparisons:
        yield "comparison", None, text, None
    for suggestion in walkaround.suggestions:
        yield f"suggestion: {say_kind(suggestion.kind)}", suggestion.for_, suggestion.text, suggestion.source
    for name in walkaround.not_mentioned:
        yield "not mentioned", None, name, None
    for name in walkaround.without_verdict:
        yield "without a verdict", None, name, None
    for finding in walkaround.findings:
        for words in finding.plain_words:
            yield f"plain words: {say_kind(words.about)}", finding.id, words.text, words.source


def say_kind(kind: str) -> str:
    """`goes with`, `if left`."""
    return kind.replace("_", " ")
