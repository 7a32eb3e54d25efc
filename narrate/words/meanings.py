"""What every phrase means, and why a shop may not give one another meaning."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal

from rapidfuzz.fuzz import ratio
from rapidfuzz.process import extract

from narrate.words.lexicon import Family, How, Lexicon
from narrate.words.phrases import phrase_words, plural

Kind = Literal["alias", "heard", "hide"]
Words = tuple[str, ...]

NEAR = 70
"""Similarity (0 to 100) from which another id is suggested."""
USES = {"cue": "understanding sentences", "location": "places", "unit": "measuring"}
"""What the words are for that can never name anything else."""
_DASHES = re.compile(r"[\-‐-―]")
_SPELLED = re.compile(r"\b[a-z](?:[ /][a-z])+\b")
_NUMBER_UNIT = re.compile(r"(\d)(?!(?:st|nds?|rd|th|s)\b)(?=[a-z])")
_SAYABLE = re.compile(r"[^\W_]+(?:'[^\W_]+)*")


@dataclass(frozen=True, slots=True, kw_only=True)
class OwnWord:
    """One line of the shop's own words."""

    words: str
    means: str
    """The id of a component, condition or action."""
    kind: Kind = "alias"
    needs_context: bool = False
    note: str = ""


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why an own word does not count."""

    why: str
    idle: bool = False
    """It asks for what is so already, as after an update that ships the shop's word; nobody needs to be warned."""


def tidy(text: str) -> str:
    """Words as they are kept, so that they meet what becomes of speech.

    >>> tidy("  Way-Bar  Link "), tidy("A/C thingy"), tidy("12V socket")
    ('way bar link', 'ac thingy', '12 v socket')
    """
    text = " ".join(_DASHES.sub(" ", text.lower().replace("’", "'").replace("&", " and ")).split())
    text = _SPELLED.sub(lambda letters: re.sub("[ /]", "", letters[0]), text).replace("/", " ")
    return " ".join(_NUMBER_UNIT.sub(r"\1 ", text).split())


def family_of(lexicon: Lexicon, means: str) -> Family | None:
    """What an id is the id of; of the few that are both, the component's."""
    if means in lexicon.components:
        return "component"
    if means in lexicon.conditions:
        return "condition"
    return "action" if means in lexicon.actions else None


def forms_of(lexicon: Lexicon, own: OwnWord) -> tuple[Words, ...]:
    """The words as they are compared, and their plural where the lexicon would make one."""
    forms = [phrase_words(own.words, lexicon.spelling)]
    entry = lexicon.components.get(own.means)
    if entry and own.kind != "heard" and not lexicon.kinds[entry.kind].mass:
        forms.append(phrase_words(plural(own.words), lexicon.spelling))
    return tuple(forms)


class Meanings:
    """What every phrase means by now; takes own words one by one, and says why it refuses one."""

    def __init__(self, lexicon: Lexicon) -> None:
        self._lexicon = lexicon
        self._by_words: dict[Words, dict[tuple[Family, str], How]] = {}
        self._taken: set[tuple[Words, str]] = set()
        for phrase in lexicon.phrases():
            self._by_words.setdefault(phrase.words, {}).setdefault((phrase.family, phrase.id), phrase.how)
        self._places, self._sides = _place_words(lexicon)

    def take_all(self, own_words: Sequence[OwnWord]) -> tuple[Refusal | None, ...]:
        """Take all of them, and tell of each in the order given."""
        told: list[Refusal | None] = [None] * len(own_words)
        # What is hidden makes room for what is added, wherever the two stand.
        for at in sorted(range(len(own_words)), key=lambda number: own_words[number].kind != "hide"):
            told[at] = self.take(own_words[at])
        return tuple(told)

    def take(self, own: OwnWord) -> Refusal | None:
        """Count an own word from here on, or say why not."""
        key = phrase_words(own.words, self._lexicon.spelling), own.means
        if key in self._taken:
            return Refusal(f"'{own.words}' and {own.means} stand there more than once; keep one line of them.")
        refusal = self._judge(own)
        if refusal is None:
            self._taken.add(key)
        return refusal

    def _judge(self, own: OwnWord) -> Refusal | None:
        family = family_of(self._lexicon, own.means)
        if family is None:
            return Refusal(_unknown(self._lexicon, own.means))
        if own.words != tidy(own.words) or not all(map(_SAYABLE.fullmatch, own.words.split() or ("",))):
            return Refusal(f"'{own.words}' is not as people say it; write words and numbers in lower case.")
        forms = forms_of(self._lexicon, own)
        return self._hide(own, family, forms) if own.kind == "hide" else self._add(own, family, forms)

    def means(self, own: OwnWord) -> bool:
        """Whether these words mean this by now."""
        family = family_of(self._lexicon, own.means)
        return family is not None and (family, own.means) in self._of(phrase_words(own.words, self._lexicon.spelling))

    def _hide(self, own: OwnWord, family: Family, forms: Sequence[Words]) -> Refusal | None:
        if own.needs_context:
            return Refusal(f"'{own.words}' is to be hidden and to need context; leave out one of the two.")
        meanings = self._of(forms[0])
        if (family, own.means) not in meanings:
            instead = f"it means {_listed(meanings)}" if meanings else "it means nothing"
            return Refusal(f"'{own.words}' does not mean {own.means}, {instead}; there is nothing to hide.", idle=True)
        for form in forms:
            self._of(form).pop((family, own.means), None)
        return None

    def _add(self, own: OwnWord, family: Family, forms: Sequence[Words]) -> Refusal | None:
        if own.kind == "heard" and family != "component":
            return Refusal(f"{own.means} is no component, and only components have mis-hearings; add a plain alias.")
        # A bare word that many parts share becomes one part's name when the shop says so.
        if self._of(forms[0]).get((family, own.means), "short") != "short":
            return Refusal(f"'{own.words}' means {own.means} already; there is nothing to add.", idle=True)
        for form in forms:
            taken = self._taken_by(form, family, own)
            if taken:
                return Refusal(taken)
        idle = self._idle_place(own, forms[0]) if family == "component" else None
        if idle:
            return Refusal(idle)
        if not own.needs_context and any(map(self._everyday, forms)):
            return Refusal(
                f"'{own.words}' is an everyday word; mark it as needing context (--needs-context, or yes in that "
                "column), then it counts only beside other car talk."
            )
        for form in forms:
            self._by_words.setdefault(form, {})[family, own.means] = "heard" if own.kind == "heard" else "alias"
        return None

    def _taken_by(self, form: Words, family: Family, own: OwnWord) -> str | None:
        """What else a phrase means."""
        said = " ".join(form)
        meanings = [meaning for meaning in self._of(form) if meaning != (family, own.means)]
        for other, id_ in meanings:
            if other in USES:
                return f"'{said}' is a word for {USES[other]} ({id_}) and cannot mean {own.means}; choose other words."
            if other != family:
                return f"'{said}' is a word for the {other} {id_} and cannot mean {own.means}; choose other words."
        if not meanings:
            return None
        hide = f'narrate lexicon hide "{said}" {meanings[0][1]}'
        return f"'{said}' means {_listed(meanings)} already; hide it there first: {hide}"

    def _idle_place(self, own: OwnWord, words: Words) -> str | None:
        """A place inside a name is swallowed by it, and the finding would lose its side."""
        rest = tuple(word for word in words if word not in self._places)
        named = ("component", own.means) in self._of(rest)
        place = next((word for word in words if word in (self._places if named else self._sides)), None)
        if place is None:
            return None
        return f"'{place}' in '{own.words}' says where, and places are found by themselves; leave it out."

    def _everyday(self, form: Words) -> bool:
        """Whether people say it of anything: "boot", and "the boot" too."""
        article = self._lexicon.cues.get("article")
        bare = [word for word in form if not article or word not in article.words]
        return len(bare) == 1 and bare[0] in self._lexicon.everyday

    def _of(self, form: Words) -> dict[tuple[Family, str], How]:
        return self._by_words.get(form, {})


def _place_words(lexicon: Lexicon) -> tuple[frozenset[str], frozenset[str]]:
    """Single words that say where, and those of them that say on which side and never name a thing."""
    places: set[str] = set()
    sides: set[str] = set()
    for location in lexicon.locations.values():
        words = {word for word in location.words if " " not in word}
        if location.means in ("place", "nearside", "offside", "driver", "passenger"):
            places |= words
        if location.means in ("nearside", "offside") or {"left", "right"} & set(" ".join(location.places).split()):
            sides |= words
    return frozenset(places), frozenset(sides)


def _unknown(lexicon: Lexicon, means: str) -> str:
    """That there is no such id, and which are near it by any of their names."""
    names = {" ".join(p.words): p.id for p in lexicon.phrases() if p.family in ("component", "condition", "action")}
    ids = (*lexicon.components, *lexicon.conditions, *lexicon.actions)
    names |= {id_.replace("_", " "): id_ for id_ in ids}
    asked = means.lower().replace("_", " ")
    near = dict.fromkeys(
        names[name] for name, _, _ in extract(asked, list(names), scorer=ratio, score_cutoff=NEAR, limit=9)
    )
    wanted = (
        f"did you mean {' or '.join(list(near)[:3])}?" if near else "give an id that 'narrate find --json -' shows."
    )
    return f"No component, condition or action is called '{means}'; {wanted}"


def _listed(meanings: Iterable[tuple[Family, str]], most: int = 3) -> str:
    """`brake_hose, clutch_hose and 9 more`."""
    ids = list(dict.fromkeys(id_ for _, id_ in meanings))
    more = len(ids) - most
    if more > 1:
        return f"{', '.join(ids[:most])} and {more} more"
    return " and ".join(part for part in (", ".join(ids[:-1]), ids[-1]) if part)
