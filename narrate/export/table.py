"""Findings as rows for the terminal."""

from narrate.export.phrases import (
    say_broken,
    say_conditions,
    say_how_sure,
    say_locations,
    say_measurement,
    say_recommendation,
    say_time,
    say_when,
)
from narrate.records.walkaround import Measurement, Walkaround

HEADINGS = ("component", "side", "condition", "recommendation", "measurement", "how soon", "when", "how sure")


def findings_table(walkaround: Walkaround) -> list[tuple[str, ...]]:
    """One row a finding, in the order said, with a cell for each of HEADINGS; dropped ones left out."""
    return [
        (
            finding.component.name,
            say_locations(finding.locations),
            say_conditions(finding),
            say_recommendation(finding.recommendation),
            ", ".join(_measured(measurement) for measurement in finding.measurements),
            say_when(finding.urgency) if finding.urgency else "",
            say_time(finding.evidence[0].start_s) if finding.evidence else "",
            say_how_sure(finding),
        )
        for finding in walkaround.findings
        if finding.review.state != "dropped"
    ]


def _measured(measurement: Measurement) -> str:
    """The number, and what it is against a limit where that is not plainly within."""
    broken = say_broken(measurement)
    return f"{say_measurement(measurement)} ({broken})" if broken else say_measurement(measurement)
