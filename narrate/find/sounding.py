"""Parts the recogniser took for other words that sound like them: "either arm" for an idler arm.

Two ways, the surer first. A name is *completed*: one that was heard in part stands beside words that sound like the
rest of a longer name ("valve cover | guest get"). And words that nothing covers are compared with all names by sound
and spelling; how alike they must be depends on what stands around them. Weights and thresholds after measured
mis-hearings; each finding made so is marked as a guess and keeps what was heard.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from itertools import pairwise, takewhile

import numpy as np
from rapidfuzz import fuzz, process

from narrate.find.draft import Mention
from narrate.find.surroundings import BREAK, SURE_PROBABILITY, UNSURE_PROBABILITY, Talk, in_car_talk, in_focus
from narrate.find.vocabulary import Longer, Vocabulary
from narrate.words.sounds import alike, load_speller

SOUND, SPELLING = 0.65, 0.35
ALIKE = 0.7
"""How alike a single word must sound that is spelled like a name."""
WORD_SUPPORT = 0.5
"""Every word of a name must be heard at least so well: long shared words carry a wrong one along otherwise."""
REST = 0.60
"""How alike the rest of a name must be, beside the part of it that was heard …"""
REST_SURE = 0.90
"""… and where the recogniser was sure of ordinary words, or they were typed."""
BOTH_SIDES, ONE_SIDE, NO_SIDE = 0.76, 0.81, 0.86
"""How alike a whole name must be, by what stands around it: what a part has before and behind it, one of them, none."""
ONE_WORD = 0.85
"""How alike one word must be at least: there is a part that sounds a little like any word."""
STRANGE = -0.04
"""A word that is none asks for less: it must be something misheard."""
JOINED = 0.05
"""A window with a word inside it that no name has asks for more."""
SURELY_OTHER, UNSURE, IN_FOCUS = 0.08, -0.03, -0.03
"""Ordinary words surely heard ask for more, badly heard ones for less, and a system spoken of for less."""
FOCUS_BONUS, LEGAL_BONUS = 0.03, 0.05
TIE = 0.03
"""A different part this close behind is kept as an alternative."""
REST_LIKE = 50.0
"""How like the rest of a name must sound (ratio of sounds, 0 to 100) to be weighed closely."""
WORD_LIKE, ORDINARY_LIKE = 60.0, 72.0
"""How like a word of a name must sound (ratio of sounds, 0 to 100) for the whole name to be compared; and how like
the whole name, where ordinary words were surely heard."""
NAMES = 12
"""The names most alike by sound are weighed closely."""
LONGEST, LONGEST_REST, SHORTEST = 5, 3, 3


def sounding_like(talk: Talk, taken: Iterable[int]) -> list[Mention]:
    """Parts that words sound like, the surest first, none over another; `taken`: tokens guessed already."""
    talk = replace(talk, covered=talk.covered | frozenset(taken))
    found = [*_completed(talk), *_alike(talk)]
    chosen: list[Mention] = []
    used: set[int] = set()
    for guess in sorted(found, key=lambda guess: (-guess.score, guess.first - guess.last, guess.first)):
        span = set(range(guess.first, guess.last + 1))
        if not span & used:
            used |= span
            chosen.append(guess)
    return chosen


def _sounds(words: Iterable[str]) -> str:
    speller = load_speller()
    return "".join(speller.sounds(word) for word in words)


def begins_alike(word: str, name: str) -> bool:
    """Whether a single word sounds like a name from its first sound on: a "booker" is no cooker."""
    said, meant = _sounds([word]), _sounds(name.split())
    return said[:1] == meant[:1] and alike(said, meant) >= ALIKE


def signs_needed(talk: Talk, first: int, last: int) -> int:
    """How much must say that a vehicle is spoken of: more for one word that English has and that was surely heard."""
    english = first == last and talk.texts[first] in load_speller().words
    return 3 if english and talk.probability(first, last) >= SURE_PROBABILITY else 2


def likeness(heard: Iterable[str], name: Iterable[str]) -> float:
    """How alike words are to a name, by sound and spelling, 0 to 1."""
    heard, name = tuple(heard), tuple(name)
    return SOUND * alike(_sounds(heard), _sounds(name)) + SPELLING * fuzz.ratio("".join(heard), "".join(name)) / 100


def _completed(talk: Talk) -> Iterator[Mention]:
    """Parts heard in part beside words that sound like the rest of a longer name."""
    for first, last in sorted({(m.first, m.last) for m in talk.draft.mentions if m.family == "component"}):
        for before in (True, False):
            longer = talk.vocabulary.longer_names.get((talk.texts[first : last + 1], before))
            if longer is None:
                continue
            for stretch in _beside(talk, first, last, before):
                guess = _best_rest(talk, longer, (first, last), stretch)
                if guess:
                    yield guess


def _best_rest(talk: Talk, longer: Longer, part: tuple[int, int], beside: tuple[int, int]) -> Mention | None:
    """The longer name whose rest sounds most like the words beside its part, if any does."""
    said = talk.texts[beside[0] : beside[1] + 1]
    sounds = _sounds(said)
    closest = process.extract(
        sounds, longer.sounds, scorer=fuzz.ratio, score_cutoff=REST_LIKE, limit=NAMES, processor=None
    )
    scored = [(likeness(said, longer.rests[at]), at) for _, _, at in closest]
    score, at = max(scored, default=(0.0, 0))
    whole = min(beside[0], part[0]), max(beside[1], part[1])
    ordinary = talk.ordinary(*beside)
    # The part that was heard is a sign by itself where the rest was hardly heard.
    signs = 2 if ordinary or talk.probability(*beside) >= SURE_PROBABILITY else 1
    if score < (REST_SURE if ordinary else REST) or not in_car_talk(talk, longer.components[at], *whole, signs=signs):
        return None
    return _guess(talk, *whole, longer.components[at], longer.names[at], (1 + score) / 2)


def _beside(talk: Talk, first: int, last: int, before: bool) -> Iterator[tuple[int, int]]:
    """Stretches of up to three free words right before or behind a part."""
    for length in range(1, LONGEST_REST + 1):
        begin, end = (first - length, first - 1) if before else (last + 1, last + length)
        edge = (begin, first) if before else (last, end)
        if begin < 0 or end >= len(talk.texts) or talk.mass[edge[1]] - talk.mass[edge[0]] >= BREAK:
            return
        if talk.free(begin, end) and not talk.stops(begin) and not talk.stops(end):
            yield begin, end


def _alike(talk: Talk) -> Iterator[Mention]:
    """Stretches that sound like a whole name."""
    _learn(talk)
    for first in range(len(talk.texts)):
        if first in talk.covered or talk.stops(first):
            continue
        for last in range(first, min(len(talk.texts), first + LONGEST)):
            if not talk.free(first, last):
                break
            joined = any(map(talk.stops, range(first + 1, last)))
            if not talk.stops(last) and not (joined and talk.probability(first, last) >= SURE_PROBABILITY):
                guess = _best_name(talk, first, last)
                if guess:
                    yield guess


def _learn(talk: Talk) -> None:
    names_sounding_like(talk.vocabulary, [text for n, text in enumerate(talk.texts) if n not in talk.covered])


def names_sounding_like(vocabulary: Vocabulary, texts: Iterable[str]) -> dict[str, frozenset[int]]:
    """For each word met so far: the numbers of the part names with a word that sounds like it, found once for each."""
    new = list(dict.fromkeys(text for text in texts if text not in vocabulary.names_sounding and text.isalpha()))
    for start in range(0, len(new), 100):
        some = new[start : start + 100]
        scores = process.cdist(
            [_sounds([text]) for text in some], vocabulary.sound_words, scorer=fuzz.ratio, score_cutoff=WORD_LIKE,
            dtype=np.uint8, workers=1,
        )  # fmt: skip
        for text, row in zip(some, scores, strict=True):
            near = np.flatnonzero(row)
            best = near[np.argsort(-row[near].astype(int), kind="stable")[:24]]
            names = {name for word in best for name in vocabulary.names_by_sound[vocabulary.sound_words[word]]}
            vocabulary.names_sounding[text] = frozenset(names)
    return vocabulary.names_sounding


def _best_name(talk: Talk, first: int, last: int) -> Mention | None:
    vocabulary = talk.vocabulary
    words = talk.texts[first : last + 1]
    if first == last and (words[0] in vocabulary.explained or len(words[0]) < SHORTEST):
        return None
    ordinary = talk.ordinary(first, last)
    near = _near(vocabulary, words, shared=ordinary)
    if not near:
        return None
    sounds = _sounds(words)
    closest = process.extract(
        sounds, [vocabulary.name_sounds[n] for n in near], scorer=fuzz.ratio, limit=NAMES, processor=None,
        score_cutoff=ORDINARY_LIKE if ordinary else WORD_LIKE,
    )  # fmt: skip
    weighed: dict[str, tuple[float, float, str]] = {}
    for _, _, at in closest:
        name, component = vocabulary.guessable[near[at]], vocabulary.guessable_ids[near[at]]
        score = likeness(words, name.split())
        if not _rest_heard(talk, first, last, tuple(name.split())):
            continue
        if score < BOTH_SIDES + UNSURE + IN_FOCUS - LEGAL_BONUS or not _supported(words, name.split()):
            continue
        told = score + FOCUS_BONUS * in_focus(talk, component, first) + LEGAL_BONUS * _legal(talk, component, last)
        if component not in weighed or told > weighed[component][0]:
            weighed[component] = told, score, name
    if not weighed:
        return None
    ranked = sorted(weighed.items(), key=lambda item: -item[1][0])
    component, (told, score, name) = ranked[0]
    signs = signs_needed(talk, first, last)
    if score < _needed(talk, first, last, component, " " in name):
        return None
    if not in_car_talk(talk, component, first, last, signs=signs):
        return None
    other = ranked[1][0] if len(ranked) > 1 and told - ranked[1][1][0] < TIE else None
    return _guess(talk, first, last, component, name, score, other)


def _near(vocabulary: Vocabulary, words: tuple[str, ...], *, shared: bool) -> list[int]:
    """Names with a word that sounds like one of these; `shared`: like two of them, as far as there are two."""
    sets = [vocabulary.names_sounding.get(word, frozenset()) for word in words]
    if not shared or len(sets) == 1:
        return sorted(frozenset().union(*sets))
    seen, twice = set(sets[0]), set()
    for names in sets[1:]:
        twice |= seen & names
        seen |= names
    return sorted(twice)


def _rest_heard(talk: Talk, first: int, last: int, name: tuple[str, ...]) -> bool:
    """Whether what differs from a name sounds like it: words that are the same must not carry others along."""
    heard = talk.texts[first : last + 1]
    same_before = len(tuple(takewhile(lambda pair: pair[0] == pair[1], zip(heard, name, strict=False))))
    left = min(len(heard), len(name)) - same_before
    pairs = zip(reversed(heard), reversed(name), strict=False)
    same_behind = min(left, len(tuple(takewhile(lambda pair: pair[0] == pair[1], pairs))))
    if not same_before + same_behind:
        return True
    rest, missing = heard[same_before : len(heard) - same_behind], name[same_before : len(name) - same_behind]
    if not rest or not missing:
        return False
    needed = REST_SURE if talk.ordinary(first + same_before, last - same_behind) else REST
    return likeness(rest, missing) >= needed


def _supported(heard: tuple[str, ...], name: list[str]) -> bool:
    """Whether every word of a name is heard in some word, or two together."""
    pairs = [a + b for a, b in pairwise(heard)]
    return all(
        max(alike(_sounds([word]), _sounds([said])) for said in (*heard, *pairs)) >= WORD_SUPPORT
        or _sounds([word]) in _sounds(heard)
        for word in name
    )


def _needed(talk: Talk, first: int, last: int, component: str, several: bool) -> float:
    sides = (first - 1 in talk.before) + (last + 1 in talk.behind)
    needed = (NO_SIDE, ONE_SIDE, BOTH_SIDES)[sides]
    if talk.ordinary(first, last):
        needed += SURELY_OTHER
    elif talk.probability(first, last) < UNSURE_PROBABILITY:
        needed += UNSURE
    if any(talk.texts[n] not in talk.vocabulary.explained for n in range(first, last + 1)):
        needed += STRANGE
    if first == last and not several:
        needed = max(needed, ONE_WORD)
    needed += JOINED * any(map(talk.stops, range(first + 1, last)))
    return needed + IN_FOCUS * in_focus(talk, component, first)


def _legal(talk: Talk, component: str, last: int) -> bool:
    """Whether a condition said right behind is one that such a part can have."""
    condition = next((talk.conditions[n] for n in range(last + 1, last + 4) if n in talk.conditions), None)
    return condition is not None and talk.vocabulary.lexicon.legal(component, condition)


def _guess(
    talk: Talk, first: int, last: int, component: str, name: str, score: float, other: str | None = None
) -> Mention:
    said = " ".join(talk.texts[first : last + 1])
    return Mention(
        id="",
        family="component",
        key=component,
        first=first,
        last=last,
        how="guess",
        score=round(score, 3),
        runner_up=other,
        because=tuple(f"t{number}" for number in range(first, last + 1)),
        why=f"'{said}' sounds like '{name}' ({score * 100:.0f} of 100)",
    )
