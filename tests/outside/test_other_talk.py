"""Talk about anything but a vehicle: what narrate finds in it is false."""

from pathlib import Path

from asking import Asked
from other_talk import score_talk, talks

LEAST_WORDS = 50_000
"""Python's help topics differ a little between its versions."""


# Measured on 69,818 words (Python 3.11): 0.859 faults and 0.458 ok in a thousand words.
def test_little_is_found_in_talk_about_anything_but_a_vehicle(asked: Asked, data: Path) -> None:
    """Sources: Python's help topics (PSF), Disfl-QA (CC BY 4.0), NeMo (Apache-2.0), quantulum3 (MIT)."""
    texts = talks(data / "disfl_qa" / "dev.json", data / "nemo_itn", data / "quantulum3" / "quantities.json")
    scores = score_talk(asked, [text for source in texts.values() for text in source])
    assert scores.words >= LEAST_WORDS
    assert scores.per_thousand("fault") <= 0.9
    assert scores.per_thousand("ok") <= 0.5
