"""What was said of a finding, quoted with its time."""

from narrate.records.walkaround import Finding


def quoted(finding: Finding) -> str:
    """`'front rotors are fine' (0:12)`; of several stretches the first; typed words have no time."""
    if not finding.evidence:
        return f"{finding.id}, without words"
    first = finding.evidence[0]
    if first.start_s is None:
        return f"'{first.said}'"
    minutes, seconds = divmod(int(first.start_s), 60)
    return f"'{first.said}' ({minutes}:{seconds:02d})"
