"""What stands around words that may be a part's name: whether a vehicle is spoken of there, and how sure they are."""

from dataclasses import dataclass

from narrate.find.boundaries import boundary_mass
from narrate.find.draft import Draft, Mention, Token
from narrate.find.vocabulary import Vocabulary

SURE_PROBABILITY, NAME_PROBABILITY, UNSURE_PROBABILITY = 0.9, 0.8, 0.5
"""A word is surely heard; surely enough for its capital to count; hardly."""
BREAK, COMMA_TOO_MUCH = 0.4, 0.5
"""How much must end within a stretch that names nothing; more where it was hardly heard."""
FOCUS_REACH = 40
VERDICT_REACH, CONDITION_REACH = 4, 12
"""How near a verdict stands to the part it is of; and how near one says that a vehicle is spoken of."""


@dataclass(frozen=True, slots=True)
class Talk:
    """One draft with what is looked up again and again."""

    draft: Draft
    vocabulary: Vocabulary
    texts: tuple[str, ...]
    covered: frozenset[int]
    """Tokens that a part, or another meaning of the lexicon that is more than one word, has taken."""
    mass: list[float]
    before: frozenset[int]
    """Tokens behind which a part's name may begin: a place, an article."""
    places: frozenset[int]
    """Tokens with which a place ends."""
    behind: frozenset[int]
    """Tokens with which a part's name may end: a verdict, a copula, an action."""
    parts: tuple[Mention, ...]
    probabilities: tuple[float, ...]
    """Of each token as heard; 1 where it was typed."""
    conditions: dict[int, str]
    """Where a condition begins -> which."""

    def free(self, first: int, last: int) -> bool:
        """Whether nothing ends within a stretch and nothing of it is taken."""
        if first < 0 or last >= len(self.texts) or not self.covered.isdisjoint(range(first, last + 1)):
            return False
        # What is badly heard is often given a comma too much.
        ends = self.mass[last] - self.mass[first]
        return ends < (BREAK if self.probability(first, last) >= UNSURE_PROBABILITY else COMMA_TOO_MUCH)

    def stops(self, at: int) -> bool:
        """Whether a token is a word that no name begins or ends with: surely heard, of measuring, or no word."""
        function = self.texts[at] in self.vocabulary.cue_words["function"]
        measures = (self.texts[at],) in self.vocabulary.units
        unsure = self.probability(at, at) < UNSURE_PROBABILITY
        return not self.texts[at].isalpha() or measures or (function and not unsure)

    def probability(self, first: int, last: int) -> float:
        """The least probability of the words as heard; typed words are certain."""
        return min(self.probabilities[first : last + 1])

    def ordinary(self, first: int, last: int) -> bool:
        """Whether ordinary words were surely heard, or typed."""
        plain = all(self.texts[n] in self.vocabulary.lexicon.everyday for n in range(first, last + 1))
        return plain and self.probability(first, last) >= SURE_PROBABILITY


def talk_of(draft: Draft, vocabulary: Vocabulary) -> Talk:
    """Lay out a draft for guessing."""
    texts = tuple(token.text for token in draft.tokens)
    cues = vocabulary.cue_words
    parts = tuple(m for m in draft.mentions if m.family == "component" and not m.needs_context)
    others = [m for m in draft.mentions if m.family in ("condition", "action", "location", "unit")]
    sure = [_probability(draft, token) for token in draft.tokens]
    # What was hardly heard need not be what it was taken for.
    strong = [
        m
        for m in others
        if not m.needs_context and (m.first < m.last or (m.family != "action" and sure[m.first] >= UNSURE_PROBABILITY))
    ]
    before = {m.last for m in others if m.family == "location"}
    behind = {m.first for m in others if m.family in ("condition", "action")}
    behind |= {m.first for m in draft.mentions if m.family == "cue" and m.key in ("approval", "negation", "unchecked")}
    return Talk(
        draft=draft,
        vocabulary=vocabulary,
        texts=texts,
        covered=frozenset(n for m in (*parts, *strong) for n in range(m.first, m.last + 1)),
        mass=boundary_mass(draft),
        before=frozenset(before | {n for n, text in enumerate(texts) if text in cues["article"]}),
        places=frozenset(before),
        behind=frozenset(behind | {n for n, text in enumerate(texts) if text in cues["copula"]}),
        parts=parts,
        probabilities=tuple(sure),
        conditions={m.first: m.key for m in others if m.family == "condition"},
    )


def _probability(draft: Draft, token: Token) -> float:
    heard = draft.words[token.first_word : token.last_word + 1]
    return min((word.probability for word in heard if word.probability is not None), default=1.0)


def in_car_talk(talk: Talk, component: str, first: int, last: int, *, signs: int = 2) -> bool:
    """Whether what stands around says that a vehicle is spoken of.

    So many signs are needed of: other parts, faults, a place right before, words hardly heard; a fault right by
    a part can have is two.
    """
    if any(_is_name(talk, n) for n in range(max(first, 1), last + 1)):
        return False
    parts = {m.key for m in talk.parts if abs(m.first - first) <= FOCUS_REACH}
    near = (*range(first - VERDICT_REACH, first), *range(last + 1, last + 1 + VERDICT_REACH))
    lexicon = talk.vocabulary.lexicon
    verdict = any(n in talk.conditions and lexicon.legal(component, talk.conditions[n]) for n in near)
    conditions = sum(abs(n - first) <= CONDITION_REACH for n in talk.conditions)
    unsure = talk.probability(first, last) < UNSURE_PROBABILITY
    return len(parts) + (first - 1 in talk.places) + unsure + conditions + 2 * verdict >= signs


def _is_name(talk: Talk, at: int) -> bool:
    """Whether a word is written with a capital within a sentence: somebody's name."""
    tokens, words = talk.draft.tokens, talk.draft.words
    if any(mark in ".!?;:…" for mark in tokens[at - 1].punctuation):
        return False
    word = words[tokens[at].first_word]
    sure = word.probability is None or word.probability >= NAME_PROBABILITY
    return sure and word.text[:1].isupper() and not word.text.isupper()


def in_focus(talk: Talk, component: str, at: int) -> bool:
    """Whether a part of the same system was named nearby."""
    system = talk.vocabulary.lexicon.system_of
    return any(system[m.key] == system[component] for m in talk.parts if abs(m.first - at) <= FOCUS_REACH)
