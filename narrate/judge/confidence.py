"""How sure each field of a finding is, as a probability: fitted on scored findings, typed and heard.

What find/ gives is how sure its own steps are; it ranks, but nine tenths of it are not nine of ten. A logistic
regression a field (models/confidence.json, made by models/fit_confidence.py) takes that, how well the words were
heard, and what kind of finding it is, and gives the chance that an advisor leaves the field as it is.
"""

import json
import math
from collections.abc import Mapping
from functools import lru_cache
from typing import Literal, get_args

from narrate.records.recording import Recording
from narrate.records.walkaround import Finding, Walkaround
from narrate.settings import project_folder

Field = Literal["component", "location", "condition", "recommendation"]
"""`condition` is right where the status is too."""
FIELDS: tuple[Field, ...] = get_args(Field)
TYPED_DB = 40.0
"""Stands for the speech-to-noise ratio where there is no sound, and caps it."""
LEAST = 0.01
"""No chance is taken for smaller, or for nearer to one, before its logarithm is."""


def calibrated(walkaround: Walkaround) -> Walkaround:
    """The same with each confidence turned into a probability. Once: what it gives is not what it takes."""
    recordings = {recording.id: recording for recording in walkaround.recordings}
    weights = load_weights()
    findings = tuple(_calibrated(finding, recordings, weights) for finding in walkaround.findings)
    return walkaround.model_copy(update={"findings": findings})


def _calibrated(
    finding: Finding, recordings: Mapping[str, Recording], weights: Mapping[str, Mapping[str, float]]
) -> Finding:
    chances: dict[str, float] = {}
    for field in FIELDS:
        values = features(finding, recordings, field)
        total = sum(weights[field].get(name, 0.0) * value for name, value in values.items())
        chances[field] = round(1 / (1 + math.exp(-total)), 3)
    confidence = finding.confidence.model_copy(update={**chances, "overall": min(chances.values())})
    return finding.model_copy(update={"confidence": confidence})


def features(finding: Finding, recordings: Mapping[str, Recording], field: Field) -> dict[str, float]:
    """What the chance of a field is told by; every value lies within a few units of zero."""
    raw = finding.confidence
    words = [
        word.probability
        for piece in finding.evidence
        if piece.recording in recordings
        for word in recordings[piece.recording].words[piece.first_word : piece.last_word + 1]
        if word.probability is not None
    ]
    ratios = [
        recording.signal.speech_to_noise_db
        for piece in finding.evidence
        if (recording := recordings.get(piece.recording)) and recording.signal.speech_to_noise_db is not None
    ]
    guessed = any(doubt.field == "component" for doubt in finding.doubts)
    return {
        "always": 1.0,
        "own": _logit(getattr(raw, field)),
        "overall": _logit(raw.overall),
        "component": _logit(raw.component),
        "condition": _logit(raw.condition),
        "least word": _logit(min(words, default=1.0)),
        "mean word": _logit(sum(words) / len(words) if words else 1.0),
        "heard": float(bool(words)),
        "noise": (TYPED_DB - min([*ratios, TYPED_DB])) / 10,
        "guessed": float(guessed),
        "other doubts": min(len(finding.doubts) - guessed, 3) / 2,
        f"status {finding.status}": 1.0,
        f"places {min(len(finding.locations), 3)}": 1.0,
        f"conditions {min(len(finding.conditions), 2)}": 1.0,
        "recommends": float(finding.recommendation.action is not None),
        "measured": float(bool(finding.measurements)),
        "pieces": math.log(max(len(finding.evidence), 1)),
        "words": math.log(max(sum(p.last_word - p.first_word + 1 for p in finding.evidence), 1)) - 2,
    }


def _logit(chance: float) -> float:
    within = min(max(chance, LEAST), 1 - LEAST)
    return math.log(within / (1 - within)) / 2


@lru_cache(maxsize=1)
def load_weights() -> Mapping[str, Mapping[str, float]]:
    """The shipped weights: field -> feature -> weight."""
    content = json.loads((project_folder("models") / "confidence.json").read_text("utf-8"))
    weights: dict[str, dict[str, float]] = content["weights"]
    return weights
