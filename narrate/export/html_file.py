"""A page for the customer and the advisor, in plain language, readable on paper and without colour."""

from html import escape
from pathlib import Path
from string import Template

from narrate.atomic import write_atomically
from narrate.export.page_parts import (
    OF_THE_VISIT,
    cautions_list,
    concern_item,
    contradiction_item,
    finding_item,
    measurements_table,
    suggestion_item,
    unplaced_item,
    vehicle_lines,
)
from narrate.export.phrases import say_vehicle
from narrate.export.picture import findings_picture
from narrate.records.walkaround import Finding, Suggestion, Walkaround

_PAGE = Template("""<!DOCTYPE html>
<html lang="$language">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>$title</title>
<style>
body { background: #fff; color: #000; font: 1rem/1.5 Georgia, "Times New Roman", serif; margin: 2rem auto;
  max-width: 44rem; padding: 0 1rem; }
h1 { font-size: 1.6rem; margin: 0 0 .5rem; }
h2 { border-bottom: 2px solid; font-size: 1.2rem; margin: 2rem 0 .5rem; break-after: avoid; }
h3 { font-size: 1rem; margin: 1rem 0 0; break-after: avoid; }
p { margin: .25rem 0; }
article, li { break-inside: avoid; }
table { border-collapse: collapse; width: 100%; }
caption { font-weight: bold; text-align: left; }
th, td { border: 1px solid; padding: .25rem .5rem; text-align: left; vertical-align: top; }
thead { display: table-header-group; }
tr { break-inside: avoid; }
svg { height: auto; width: 100%; }
@media print { body { font-size: 11pt; margin: 0; max-width: none; } }
</style>
</head>
<body>
<main>
<h1>$title</h1>
$vehicle
$checked
$sections
</main>
<footer>
<h2>Please note</h2>
<p>This list was written from what the technician said while walking round the vehicle. The words in
quotation marks are the technician's own.</p>
<p>Where local codes, the vehicle maker's instructions or the judgement of a licensed technician say
otherwise, they come first.</p>
</footer>
</body>
</html>
""")
_SOON = ("before_driving", "this_visit", "by_date_or_distance", None, "no_hurry")
_TITLES = (
    "What needs attention",
    "To keep an eye on",
    "Not settled or not looked at",
    "Looked at and fine",
    "Work to be done",
    "Already done",
)


def write_html(walkaround: Walkaround, path: Path) -> None:
    """Write a self-contained page: no scripts, nothing fetched."""
    write_atomically(path, findings_page(walkaround).encode("utf-8"))


def findings_page(walkaround: Walkaround) -> str:
    """The page itself."""
    vehicle = say_vehicle(walkaround.vehicle)
    return _PAGE.substitute(
        language="en-US" if walkaround.market == "us" else "en-GB",
        title=escape(f"What we found: {vehicle}" if vehicle else "What we found"),
        vehicle=vehicle_lines(walkaround),
        checked=_checked(_listed(walkaround)),
        sections="\n".join(_sections(walkaround)),
    )


def _listed(walkaround: Walkaround) -> list[Finding]:
    """What a person dropped is kept in the record and not told to the customer."""
    return [finding for finding in walkaround.findings if finding.review.state != "dropped"]


def _proposed(walkaround: Walkaround) -> list[Suggestion]:
    """What is proposed for the findings; what is to be decided about the visit stands at the top."""
    return [suggestion for suggestion in walkaround.suggestions if suggestion.kind not in OF_THE_VISIT]


def _checked(findings: list[Finding]) -> str:
    waiting = sum(finding.review.state == "unreviewed" for finding in findings)
    if not waiting:
        return ""
    return f"<p>{waiting} of {len(findings)} findings have not been checked by a person yet.</p>"


def _sections(walkaround: Walkaround) -> list[str]:
    findings = _listed(walkaround)
    # Sorting is stable: within one urgency the technician's own order stays.
    findings.sort(key=lambda f: _SOON.index(f.urgency.when if f.urgency else None))
    by_title: dict[str, list[str]] = {title: [] for title in _TITLES}
    for finding in findings:
        by_title[_title(finding)].append(finding_item(finding, walkaround))
    if not findings:
        by_title["What needs attention"] = ["<p>The technician's words name nothing.</p>"]
    sections = (
        ("Where it is", [findings_picture(walkaround)] if any(f.status != "ok" for f in findings) else []),
        ("What the customer told us", [concern_item(c, walkaround) for c in walkaround.concerns]),
        *by_title.items(),
        ("Heard but not understood", [unplaced_item(u, walkaround) for u in walkaround.unplaced]),
        ("Said two ways", [contradiction_item(c) for c in walkaround.contradictions]),
        ("Compared", [f"<p>{escape(text)}</p>" for text in walkaround.comparisons]),
        ("Not mentioned", _names(walkaround.not_mentioned)),
        ("Looked at without a verdict", _names(walkaround.without_verdict)),
        ("Suggested by the program, not said", [suggestion_item(s) for s in _proposed(walkaround)]),
        ("Measurements", measurements_table(findings)),
        ("Take care", cautions_list(findings)),
    )
    return [_section(title, items) for title, items in sections if items]


def _names(names: tuple[str, ...]) -> list[str]:
    return [f"<p>{escape(', '.join(names))}</p>"] if names else []


def _title(finding: Finding) -> str:
    if finding.recommendation.timing == "done":
        return "Already done"
    if finding.status == "fault":
        watch = finding.recommendation.action == "monitor"
        return "To keep an eye on" if watch else "What needs attention"
    if finding.status == "ok":
        return "Looked at and fine"
    return "Work to be done" if finding.status == "work" else "Not settled or not looked at"


def _section(title: str, items: list[str]) -> str:
    return f"<section>\n<h2>{title}</h2>\n" + "\n".join(items) + "\n</section>"
