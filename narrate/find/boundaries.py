"""Stage 2: where one thought ends and the next begins.

Hinted recognition writes few full stops, so punctuation is one sign among three: what was written, how long the
speaker paused, and words that open a thought. Weights by judgement from measured single signs, not fitted.
"""

from dataclasses import replace

from narrate.find.draft import Draft, Gap
from narrate.find.vocabulary import Vocabulary

FULL_STOP = 1.0
COMMA = 0.4
LONG_PAUSE_S, LONG_PAUSE = 0.6, 0.6
SHORT_PAUSE_S, SHORT_PAUSE = 0.25, 0.3
OPENER = 0.3


def find_boundaries(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Give every place between two tokens where there is a sign of an ending its strength, 0 to 1."""
    gaps = []
    for before, after in zip(draft.tokens, draft.tokens[1:], strict=False):
        signs: list[str] = []
        strength = 0.0
        told = any(before.last_word < command.first_word < after.first_word for command in draft.commands)
        if before.punctuation:
            stopped = any(mark in ".!?;:…" for mark in before.punctuation)
            strength, signs = (FULL_STOP, ["full stop"]) if stopped else (COMMA, ["comma"])
        pause_s = _pause_s(draft, before.last_word, after.first_word)
        if pause_s >= LONG_PAUSE_S:
            strength, signs = strength + LONG_PAUSE, [*signs, f"pause of {pause_s:.1f} s"]
        elif pause_s >= SHORT_PAUSE_S:
            strength, signs = strength + SHORT_PAUSE, [*signs, f"pause of {pause_s:.1f} s"]
        if told:
            strength, signs = FULL_STOP, [*signs, "command"]
        if after.text in vocabulary.cue_words["opener"]:
            strength, signs = strength + OPENER, [*signs, f"opener '{after.text}'"]
        if signs:
            number = int(after.id[1:])
            gaps.append(Gap(f"g{number}", number, min(strength, 1.0), (before.id, after.id), ", ".join(signs)))
    return replace(draft, gaps=tuple(gaps))


def _pause_s(draft: Draft, before: int, after: int) -> float:
    end, start = draft.words[before].end_s, draft.words[after].start_s
    return start - end if end is not None and start is not None else 0.0


def boundary_mass(draft: Draft) -> list[float]:
    """Cumulative strength: `mass[j] - mass[i]` is how much ends between token i and token j (i < j)."""
    mass = [0.0] * (len(draft.tokens) + 1)
    for gap in draft.gaps:
        mass[gap.first] = gap.strength
    for number in range(1, len(mass)):
        mass[number] += mass[number - 1]
    return mass
