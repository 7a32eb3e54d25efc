"""A very small lexicon in a folder of its own, and a cache of its own."""

from pathlib import Path

import pytest

SMALL = {
    "systems/brakes.toml": """
schema = "narrate.lexicon/1"
system = "brakes"
title = "Brakes"

[component.brake_rotor]
name = "brake rotor"
gb = "brake disc"
aliases = ["rotor", "disc"]
needs_context = ["disc"]
kind = "friction"
parent = "brake_system"
places = ["front|rear", "left|right"]

[component.brake_system]
name = "brake system"
kind = "friction"

[component.brake_fluid]
name = "brake fluid"
kind = "fluid"
""",
    "kinds.toml": """
schema = "narrate.lexicon/1"
[kind.friction]
classes = ["wear"]
[kind.fluid]
classes = ["dirt"]
mass = true
""",
    "conditions.toml": """
schema = "narrate.lexicon/1"
[condition.worn]
name = "worn"
class = "wear"
aliases = ["worn out"]
""",
    "actions.toml": """
schema = "narrate.lexicon/1"
[action.replace]
name = "replace"
""",
    "locations.toml": """
schema = "narrate.lexicon/1"
[location.front]
places = ["front"]
words = ["front"]
""",
    "cues.toml": """
schema = "narrate.lexicon/1"
[cue.no]
meaning = "denies what follows"
words = ["no"]
""",
    "units.toml": """
schema = "narrate.lexicon/1"
[spelling]
tyre = "tire"
[unit.mm]
symbol = "mm"
quantity = "length"
words = ["mm"]
""",
    "hints.toml": 'schema = "narrate.lexicon/1"\nterms = ["rotors"]\n',
    "everyday.txt": "# ordinary words\nno\ndisc\nrotor\n",
}


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """The folder of the small lexicon; nothing is cached yet."""
    monkeypatch.setenv("NARRATE_CACHE", str(tmp_path / "cache"))
    place = tmp_path / "lexicon"
    (place / "systems").mkdir(parents=True)
    for name, text in SMALL.items():
        (place / name).write_text(text, "utf-8")
    return place
