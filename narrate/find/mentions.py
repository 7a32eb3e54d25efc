"""Stage 3: what the lexicon knows word for word."""

from collections.abc import Iterable
from dataclasses import replace

from narrate.find.draft import Draft, Mention
from narrate.find.vocabulary import Vocabulary
from narrate.words.lexicon import Phrase


def find_mentions(draft: Draft, vocabulary: Vocabulary) -> Draft:
    """Every phrase of the lexicon that occurs; one that lies inside a longer one is part of it and goes."""
    # A phrase does not go on behind a comma or full stop: "the drive belt. Tensioner is fine".
    ends = [0]
    for token in draft.tokens:
        ends.append(ends[-1] + bool(token.punctuation))
    found = [
        (first, last, vocabulary.phrases[number])
        for number, first, last in vocabulary.index.matches([token.text for token in draft.tokens])
        if ends[last] == ends[first]
    ]
    mentions: list[Mention] = []
    for first, last, phrases in _longest(found, ends):
        for phrase in phrases:
            mentions.append(
                Mention(
                    id=f"m{len(mentions)}",
                    family=phrase.family,
                    key=phrase.id,
                    first=first,
                    last=last,
                    how=phrase.how,
                    score=0.9 if phrase.how == "heard" else 1.0,
                    needs_context=phrase.needs_context,
                    because=tuple(f"t{number}" for number in range(first, last + 1)),
                    why=f"{phrase.how} of {phrase.family} {phrase.id}",
                )
            )
    return replace(draft, mentions=tuple(mentions))


def _longest(
    found: Iterable[tuple[int, int, tuple[Phrase, ...]]],
    ends: list[int],
) -> list[tuple[int, int, tuple[Phrase, ...]]]:
    """Drop what lies inside a longer match, or overlaps an equally long or longer one that began earlier."""
    kept: list[tuple[int, int, tuple[Phrase, ...]]] = []
    for first, last, phrases in sorted(found, key=lambda match: (match[0], -match[1])):
        if kept and last <= kept[-1][1]:
            continue
        if kept and first <= kept[-1][1]:
            # Two overlap: the longer is the more specific. Of two parts of one length the later stands, since a
            # name's last word says what it is: of "rear window seal" the seal.
            longer = (last - first) - (kept[-1][1] - kept[-1][0])
            parts = [any(p.family == "component" for p in meanings) for meanings in (phrases, kept[-1][2])]
            if parts[1] and all(p.family == "condition" for p in phrases):
                # "the airbag light is on": the light is the part, that it is on the condition.
                kept.append((first, last, phrases))
                continue
            if longer > 0 or (longer == 0 and all(parts)):
                kept[-1] = (first, last, phrases)
            continue
        kept.append((first, last, phrases))
    return [match for number, match in enumerate(kept) if not _modifies_next(kept, number, ends)]


def _modifies_next(kept: list[tuple[int, int, tuple[Phrase, ...]]], number: int, ends: list[int]) -> bool:
    """A part named in the singular right before another part says which one: the "oil pan drain plug"."""
    if number + 1 == len(kept) or kept[number + 1][0] != kept[number][1] + 1:
        return False
    if ends[kept[number + 1][0]] != ends[kept[number][1]]:
        return False
    one, two = kept[number][2], kept[number + 1][2]
    # An everyday word behind a full name names nothing by itself: of "bell housing bolts" the bell housing.
    return all(p.family == "component" and p.how != "plural" for p in one) and any(
        p.family == "component" and not (p.needs_context and len(p.words) == 1) for p in two
    )
