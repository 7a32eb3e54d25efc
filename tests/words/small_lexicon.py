"""A few entries of narrate's own lexicon, so that a property is tried often in a second."""

from dataclasses import replace
from typing import Any

from narrate.words.load import load_lexicon

OWN = load_lexicon()


def _only(table: str, *ids: str) -> dict[str, Any]:
    return {id_: getattr(OWN, table)[id_] for id_ in ids}


SMALL = replace(
    OWN,
    components=_only("components", "brake_rotor", "distributor_rotor", "brake_hose", "radiator_hose", "brake_fluid"),
    conditions=_only("conditions", "worn", "leaking"),
    actions=_only("actions", "replace", "repair"),
    cues=_only("cues", "approval", "article"),
)
