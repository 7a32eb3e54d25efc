"""Drivers' complaints: is a part of the system seen that the agency filed each one under."""

from pathlib import Path

from asking import Asked
from complaint_scores import score_complaints
from published import complaints


# Measured: 41 of 48 (0.854) mention such a part, by 29 of 48 (0.604) a finding is about one. Some that do not: "the
# vehicle stalled" names no part of the engine.
def test_complaints_name_a_part_of_the_system_they_are_filed_under(asked: Asked, data: Path) -> None:
    """Source: NHTSA, 50 complaints at random (public data), two filed under nothing; complaint_scores.SYSTEMS."""
    scores = score_complaints(asked, complaints(data / "nhtsa" / "complaints_50.tsv"))
    assert scores.mentioned.of == scores.found.of == 48
    assert scores.mentioned.part >= 40
    assert scores.found.part >= 25
