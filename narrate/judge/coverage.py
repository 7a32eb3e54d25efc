"""Where a full inspection was asked for: what the recordings never touched, and what has no verdict."""

from collections.abc import Iterator

from narrate.records.walkaround import Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.rules import Rules

SETTLED = ("fault", "ok", "work")


def list_not_mentioned(walkaround: Walkaround, rules: Rules, lexicon: Lexicon, *, inspection: bool) -> Walkaround:
    """Fill `not_mentioned` and `without_verdict` from the inspection list; both stay empty without an inspection."""
    if not inspection:
        return walkaround.model_copy(update={"not_mentioned": (), "without_verdict": ()})
    touched: dict[str, set[str]] = {}
    for finding in walkaround.findings:
        if finding.review.state != "dropped":
            for part in _with_wholes(finding.component.id, lexicon):
                touched.setdefault(part, set()).add(finding.status)
    missing, open_ = [], []
    for item in rules.inspection.values():
        statuses = set().union(*(touched.get(component, set()) for component in item.components))
        if not statuses:
            missing.append(item.name)
        elif not statuses.intersection(SETTLED):
            open_.append(item.name)
    return walkaround.model_copy(update={"not_mentioned": tuple(missing), "without_verdict": tuple(open_)})


def _with_wholes(component: str, lexicon: Lexicon) -> Iterator[str]:
    """A part and the larger parts it belongs to."""
    seen: set[str] = set()
    part: str | None = component
    while part and part not in seen:
        seen.add(part)
        yield part
        entry = lexicon.components.get(part)
        part = entry.parent if entry else None
