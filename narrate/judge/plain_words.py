"""Words for the customer: why the part matters and what may happen if it is left. The tool's own, and marked so."""

from collections.abc import Iterator

from narrate.records.walkaround import Finding, PlainWords, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.rules import Rules


def add_plain_words(walkaround: Walkaround, rules: Rules, lexicon: Lexicon) -> Walkaround:
    """Fill `plain_words` of every fault and job; what the technician said of the consequence stands instead."""
    findings = tuple(
        finding.model_copy(update={"plain_words": tuple(_words(finding, rules, lexicon))})
        for finding in walkaround.findings
    )
    return walkaround.model_copy(update={"findings": findings})


def _words(finding: Finding, rules: Rules, lexicon: Lexicon) -> Iterator[PlainWords]:
    if finding.status not in ("fault", "work") or finding.review.state == "dropped":
        return
    entry = lexicon.components.get(finding.component.id)
    matters = (entry and rules.kinds.get(entry.kind)) or rules.systems.get(finding.component.system)
    if matters:
        yield PlainWords(about="matters", text=matters.text, source=matters.source)
    if finding.consequence or finding.status != "fault":
        return
    classes = [lexicon.conditions[c.id].class_ for c in finding.conditions if c.id in lexicon.conditions]
    left = rules.condition_classes.get(classes[0]) if classes else None
    if left:
        yield PlainWords(about="if_left", text=left.text, source=left.source)
