"""What kind of stretch every word lies in, as the trained encoder reads it: adds what the lexicon has no words for.

Where the lexicon knows the words, its mentions stand; a stretch that says nothing new adds nothing.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

import numpy as np

from narrate.find.compounds import joined_name, parts_within
from narrate.find.draft import Draft, Mention, Scope
from narrate.find.encoder import Array, Encoded, Encoder
from narrate.find.vocabulary import Vocabulary

KINDS = "CILKOAMUBREYTPDQXNZ"
"""Kinds of stretch, by the letters of models/training/README.md."""
CUE_OF = {
    "I": "pronoun",
    "O": "approval",
    "U": "unclear",
    "B": "done",
    "R": "reason",
    "E": "consequence",
    "Y": "test",
    "T": "timing",
}
SAYS_THE_SAME = {
    "C": frozenset({"component", "unknown"}),
    "I": frozenset({"pronoun", "component", "unknown"}),
    "K": frozenset({"condition"}),
    "O": frozenset({"approval", "approval_context"}),
    "A": frozenset({"action", "offer"}),
    "U": frozenset({"unclear", "unchecked", "hedge"}),
    "B": frozenset({"done"}),
}
"""Mentions of the lexicon that make a stretch of this kind superfluous."""


NEVER_FINE = frozenset({"leak", "damage", "wear", "corrosion", "missing"})
"""Classes of condition whose words are no praise of any part."""
LEAST = 0.5
"""How sure the encoder must be of a stretch, on average over its words; of a meaning, LEAST_MEANING."""
LEAST_MEANING = 0.3


@dataclass(frozen=True, slots=True)
class Stretch:
    """Words of one kind: inclusive token numbers, how sure, and for a condition or action which."""

    kind: str
    first: int
    last: int
    probability: float
    key: str | None = None


def read_stretches(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Let the encoder read the words, if there is one; keep what it made of them for the stages that follow."""
    if vocabulary.encoder is None or not draft.tokens:
        return draft
    told = {n for command in draft.commands for n in range(command.first_word, command.last_word + 1)}
    # Commands are no part of the talk; a stop stands for each of their words, so that numbers still count words.
    encoded = vocabulary.encoder.encode(["." if n in told else word.text for n, word in enumerate(draft.words)])
    heading = {n for first, last in draft.heading for n in range(first, last + 1)}
    read = _stretches(draft, vocabulary.encoder, encoded)
    copulas = vocabulary.cue_words["copula"]
    # The make in a heading is no part of the car; a bare "is", and "leaking" alone, approve of nothing.
    plain = {n for m in draft.mentions if _is_plain_fault(m, vocabulary) for n in range(m.first, m.last + 1)}
    bare = {number for number, token in enumerate(draft.tokens) if token.text in copulas}
    stretches = [
        s
        for s in read
        if heading.isdisjoint(range(s.first, s.last + 1))
        and not (s.kind == "O" and (plain | bare).issuperset(range(s.first, s.last + 1)))
    ]
    return replace(add_stretches(draft, stretches, vocabulary.cue_words["placing"]), encoded=encoded)


def _is_plain_fault(mention: Mention, vocabulary: Vocabulary) -> bool:
    """Whether words can be no praise by themselves: "leaking", "torn"; but a lamp that glows may be fine."""
    if mention.family != "condition" or mention.needs_context:
        return False
    return vocabulary.lexicon.conditions[mention.key].class_ in NEVER_FINE


def _stretches(draft: Draft, encoder: Encoder, encoded: Encoded) -> Iterator[Stretch]:
    """Runs of words that most likely are of one kind."""
    tokens_of = tokens_by_word(draft)
    whole = encoded.tags.sum(axis=2)
    for kind, first, last in likely_stretches(encoded.tags):
        places = [place for n in range(first, last + 1) for place in tokens_of.get(n, ())]
        sure = float(whole[first : last + 1, kind].mean())
        if places and sure >= LEAST:
            letter = encoder.kinds[kind]
            yield Stretch(letter, places[0], places[-1], sure, _meaning(letter, encoder, encoded, first, last))


def tokens_by_word(draft: Draft) -> dict[int, list[int]]:
    """The numbers of the tokens of each word."""
    tokens: dict[int, list[int]] = {}
    for number, token in enumerate(draft.tokens):
        for word in range(token.first_word, token.last_word + 1):
            tokens.setdefault(word, []).append(number)
    return tokens


def likely_stretches(tags: Array) -> list[tuple[int, int, int]]:
    """(kind, first word, last word) of the likeliest way to cut the words into stretches and what lies between.

    Viterbi over tags [words, kinds, 2]: a word begins a stretch, goes on with the one before it, or is in none.
    """
    if not len(tags):
        return []
    kinds = tags.shape[1]
    logs = np.log(
        np.maximum(np.concatenate([1 - tags.sum(axis=(1, 2))[:, None], tags[:, :, 0], tags[:, :, 1]], axis=1), 1e-9)
    )
    best = logs[0].copy()
    best[1 + kinds :] = -np.inf
    came = np.zeros(logs.shape, np.int64)
    for word in range(1, len(logs)):
        anything = int(best.argmax())
        go_on = np.where(
            best[1 : 1 + kinds] >= best[1 + kinds :], np.arange(1, 1 + kinds), np.arange(1 + kinds, 1 + 2 * kinds)
        )
        came[word, : 1 + kinds] = anything
        came[word, 1 + kinds :] = go_on
        best = best[came[word]] + logs[word]
    state = int(best.argmax())
    found: list[tuple[int, int, int]] = []
    last = -1
    for word in range(len(logs) - 1, -1, -1):
        if state > 0 and last < 0:
            last = word
        if 0 < state <= kinds:
            found.append((state - 1, word, last))
            last = -1
        state = int(came[word, state])
    return found[::-1]


def _meaning(kind: str, encoder: Encoder, encoded: Encoded, first: int, last: int) -> str | None:
    """Which condition or action a stretch says."""
    if kind not in "KA":
        return None
    task, names = ("condition", encoder.conditions) if kind == "K" else ("action", encoder.actions)
    likely = encoder.meanings(task, encoded.means([(first, last)]))[0]
    best = int(likely.argmax())
    return names[best] if likely[best] >= LEAST_MEANING else None


def add_stretches(draft: Draft, stretches: Iterable[Stretch], between: frozenset[str]) -> Draft:
    """The draft with the stretches that tell something new, as mentions and scopes.

    `between` are the words that stand between a part and another it is told by: "in", "on", "of".
    """
    mentions = list(draft.mentions)
    scopes = list(draft.scopes)
    number = max((int(m.id[1:]) for m in mentions), default=-1) + 1
    for stretch in stretches:
        if stretch.kind == "Q":
            scopes.append(_complaint(stretch, len(scopes)))
            continue
        if stretch.kind == "C":
            pieces = parts_within(mentions, stretch.first, stretch.last)
            if len({piece.key for piece in pieces}) > 1:
                name = joined_name(draft, pieces, stretch.first, stretch.last, between)
                inside = [m for m in mentions if m.family == "component" and _overlap(m, stretch)]
                mentions = [name if m.id == name.id else m for m in mentions if m.id == name.id or m not in inside]
                continue
            if _says_which(draft, mentions, stretch):
                continue
        if stretch.kind == "Y":
            # A test is told in a whole phrase; the lexicon knows its verb only.
            mentions = [m for m in mentions if not (_named(m) == "test" and _overlap(m, stretch))]
        made = _mention(stretch, number)
        known = SAYS_THE_SAME.get(stretch.kind, frozenset())
        if made is None or any(_named(m) in known and _overlap(m, stretch) for m in mentions):
            continue
        mentions.append(made)
        number += 1
    return replace(draft, mentions=tuple(mentions), scopes=tuple(scopes))


def _says_which(draft: Draft, mentions: Iterable[Mention], stretch: Stretch) -> bool:
    """Whether a part named right behind it is what it only tells more of: of the water pump, the weep hole."""
    return not draft.tokens[stretch.last].punctuation and any(
        m.family == "component" and m.first == stretch.last + 1 for m in mentions
    )


def _mention(stretch: Stretch, number: int) -> Mention | None:
    family, key = "cue", CUE_OF.get(stretch.kind)
    if stretch.kind == "C":
        family = key = "unknown"
    elif stretch.kind in "KA":
        family, key = ("condition" if stretch.kind == "K" else "action"), stretch.key
    if key is None:
        return None
    return Mention(
        id=f"m{number}",
        family=family,
        key=key,
        first=stretch.first,
        last=stretch.last,
        how="read",
        score=round(stretch.probability, 3),
        because=tuple(f"t{n}" for n in range(stretch.first, stretch.last + 1)),
        why=f"read as {key} with probability {stretch.probability:.2f}",
    )


def _complaint(stretch: Stretch, number: int) -> Scope:
    tokens = tuple(f"t{n}" for n in range(stretch.first, stretch.last + 1))
    why = f"read as the customer's words with probability {stretch.probability:.2f}"
    return Scope(f"s{number}", "customer", stretch.first, stretch.last, tokens, why)


def _named(mention: Mention) -> str:
    return mention.key if mention.family == "cue" else mention.family


def _overlap(mention: Mention, stretch: Stretch) -> bool:
    return mention.first <= stretch.last and stretch.first <= mention.last
