"""What was said of a finding, quoted with its time."""

from narrate.records.walkaround import Finding


def quoted(finding: Finding) -> str:
    """`'front rotors are fine' (0:12)`; of several stretches the longest; typed words have no time."""
    if not finding.evidence:
        return f"{finding.id}, without words"
    piece = max(finding.evidence, key=lambda each: len(each.said))
    if piece.start_s is None:
        return f"'{piece.said}'"
    minutes, seconds = divmod(int(piece.start_s), 60)
    return f"'{piece.said}' ({minutes}:{seconds:02d})"
