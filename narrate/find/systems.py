"""Which systems of a vehicle are talked about, before anything is joined."""

from collections import Counter
from collections.abc import Iterable

from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import vocabulary
from narrate.records.recording import Recording
from narrate.words.lexicon import Lexicon


def systems_named(recordings: Iterable[Recording], lexicon: Lexicon) -> tuple[str, ...]:
    """The systems whose parts are named in recordings, the most often named first."""
    words = vocabulary(lexicon)
    counts: Counter[str] = Counter()
    for recording in recordings:
        if recording.minable:
            draft = run_stages(recording.words, words, READING)
            counts.update(lexicon.system_of[m.key] for m in draft.mentions if m.family == "component")
    return tuple(system for system, _ in counts.most_common())
