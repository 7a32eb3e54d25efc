"""Every component has an example sentence, and the whole of find hears it.

`python tests/words/test_examples.py --known` prints known_example_failures.txt anew.
"""

import sys
from functools import cache
from pathlib import Path

import pytest

from narrate.find.mining import find_findings, text_recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

KNOWN = Path(__file__).with_name("known_example_failures.txt")
HEADER = """# Components whose example sentence find does not read rightly yet, and what it makes of it instead.
# Whoever changes find or the lexicon makes this again and looks at the difference:
# python tests/words/test_examples.py --known > tests/words/known_example_failures.txt"""


@cache
def own_lexicon() -> Lexicon:
    """narrate's own lexicon, loaded once."""
    return load_lexicon()


def failure(component: str) -> str | None:
    """What is wrong with the reading of a component's example, None if nothing is."""
    lexicon = own_lexicon()
    entry = lexicon.components[component]
    status = "ok" if entry.example_ok else "fault"
    made_by = MadeBy(program="test", lexicon=lexicon.digest, settings="test")
    heard = find_findings([text_recording(entry.example)], lexicon=lexicon, made_by=made_by)
    return _difference(heard, component, status)


def _difference(heard: Walkaround, component: str, status: str) -> str | None:
    statuses = [finding.status for finding in heard.findings if finding.component.id == component]
    if status in statuses:
        return None
    if statuses:
        return f"{status} said, {' and '.join(statuses)} found"
    others = [finding.component.id for finding in heard.findings]
    return f"taken for {', '.join(others)}" if others else f"{status} said, nothing found"


def known_failures() -> dict[str, str]:
    """The list: component -> reason."""
    lines = [line for line in KNOWN.read_text("utf-8").splitlines() if line and not line.startswith("#")]
    return dict(line.split(": ", 1) for line in lines)


def test_every_component_has_an_example() -> None:
    """A shipped component comes with a sentence in which people would name it."""
    assert [] == [name for name, entry in own_lexicon().components.items() if not entry.example]


def test_no_two_components_share_an_example() -> None:
    """A sentence that serves two components names one of them wrongly."""
    examples = [entry.example for entry in own_lexicon().components.values()]
    assert len(set(examples)) == len(examples)


def test_the_list_of_known_failures_names_components() -> None:
    """A component that was renamed or taken out leaves the list too, and each has a reason."""
    known = known_failures()
    assert [] == sorted(known.keys() - own_lexicon().components.keys())
    assert all(known.values())


@pytest.mark.parametrize("system", sorted(set(own_lexicon().system_of.values())))
def test_examples_are_found(system: str) -> None:
    """Each example gives a finding of its own component with its status, but for the known failures."""
    known = known_failures()
    own = [name for name, place in own_lexicon().system_of.items() if place == system]
    failed = {name: why for name in own if (why := failure(name))}
    missed = [f"{name}: {why}" for name, why in failed.items() if name not in known]
    mended = [name for name in own if name in known and name not in failed]
    assert not missed, f"{len(missed)} examples of {system} are not found any more:\n" + "\n".join(missed)
    assert not mended, f"found now, take them out of {KNOWN.name}: {', '.join(mended)}"


if __name__ == "__main__":
    if sys.argv[1:] != ["--known"]:
        sys.exit("Use --known to print the list of known failures, or run this file with pytest.")
    print(HEADER)
    for component in sorted(own_lexicon().components):
        if why := failure(component):
            print(f"{component}: {why}")
