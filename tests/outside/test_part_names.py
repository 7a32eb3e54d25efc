"""How many of the part names that a road-safety agency files complaints under the lexicon knows."""

from pathlib import Path

from asking import Asked
from part_name_scores import score_names


# Measured: 135 of 170 names (0.794). The others name a place ("front", "side"), a whole ("foundation components",
# "hydraulic power assist system") or the odds and ends of one ("fittings", "connections").
def test_most_of_the_agencys_specific_part_names_are_known(data: Path, asked: Asked) -> None:
    """Source: NHTSA, the commonest component descriptions of its complaints (public domain)."""
    known = score_names(asked, (data / "nhtsa" / "compdesc_top_names.txt").read_text("utf-8").splitlines()).known
    assert known.of == 170
    assert known.part / known.of >= 0.77
