"""What was said where the sound was poor is marked, so that somebody listens to it."""

from narrate.records.recording import Poor
from narrate.records.walkaround import Doubt, Finding, PoorStretch, Walkaround


def mark_poor(walkaround: Walkaround) -> Walkaround:
    """Fill `poor_stretches` from the recordings, and doubt the findings whose evidence lies in one."""
    poor = {recording.id: recording.poor for recording in walkaround.recordings}
    stretches = tuple(
        PoorStretch(recording=recording, start_s=each.start_s, end_s=each.end_s, why=each.why)
        for recording, found in poor.items()
        for each in found
    )
    findings = tuple(_marked(finding, poor) for finding in walkaround.findings)
    return walkaround.model_copy(update={"poor_stretches": stretches, "findings": findings})


def _marked(finding: Finding, poor: dict[str, tuple[Poor, ...]]) -> Finding:
    reasons = dict.fromkeys(
        each.why
        for piece in finding.evidence
        for each in poor.get(piece.recording, ())
        if piece.start_s is not None and piece.end_s is not None
        if each.start_s < piece.end_s and piece.start_s < each.end_s
    )
    known = {doubt.why for doubt in finding.doubts}
    doubts = tuple(Doubt(field="sound", why=why) for why in reasons if why not in known)
    return finding.model_copy(update={"doubts": (*finding.doubts, *doubts)}) if doubts else finding
