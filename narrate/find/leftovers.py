"""Words that sound like a finding and fit nowhere are listed, so that nothing said is lost."""

from bisect import bisect_left
from collections.abc import Container, Sequence

from narrate.find.draft import Group, Mention
from narrate.find.evidence import said_tokens, stretch_evidence, words_under
from narrate.find.fields import look_up, used_items
from narrate.find.scene import Dependent, Scene
from narrate.records.walkaround import Finding, Unplaced

TELLING = ("condition", "amount", "code", "price", "unchecked", "action", "reason", "consequence")
"""What makes a stretch sound like a finding."""
VERDICTS = ("approval", "unclear")
"""What does so when it was said of a part that was named."""
NEAR = 6
"""How many tokens from a part an everyday word may stand to count."""
READ, FAULT_READ = 0.4, 0.1
"""How sure the encoder must be that a word says something of a part, or names one; of a plain fault less …"""
SAYING, NAMING = "CIKOAMUBREYTPD", "CN"
"""… with the kinds of stretch (models/training/README.md) that do."""
NOT_FOUND = frozenset({"supposed", "other vehicle", "customer"})
"""Scopes in which nothing is said of what was found on this vehicle."""
AROUND = 3
"""How many tokens of the same clause are shown on each side."""
CLAUSE = 0.4


def list_unplaced(
    scene: Scene, groups: Sequence[Group], findings: Sequence[Finding], recording: str
) -> tuple[Unplaced, ...]:
    """Stretches around what no finding took up."""
    draft = scene.draft
    placed = {item.id for said in look_up(draft, groups) for item in used_items(scene, said)}
    covered = {word for finding in findings for e in finding.evidence for word in range(e.first_word, e.last_word + 1)}
    stretches: list[list[int]] = []
    reasons: list[list[str]] = []
    passed_over = {i for group in draft.groups if group.status == "none" for i in group.dependents}
    unknown = {head.id for head in scene.heads if head.family == "unknown"}
    of_unknown = {link.dependent for link in draft.links if link.head in unknown}
    told_of = unknown & {link.head for link in draft.links}
    told = [
        (item, "belongs to no part that was understood")
        for family, item in scene.dependents
        if item.id not in placed
        and (family in TELLING or (family in VERDICTS and item.id in passed_over))
        and (family == "code" or item.id in of_unknown or _read_as(scene, item, SAYING) >= _least(family, item))
        and not _excused(scene, item)
    ]
    named = [
        (head, "was named and nothing was understood of it") for head in scene.heads if _named(scene, head, told_of)
    ]
    for item, reason in sorted((*told, *named), key=lambda each: each[0].first):
        if covered.issuperset(words_under(draft, item.first, item.last)):
            continue
        first, last = _clause(scene, item)
        why = f"'{said_tokens(draft, item.first, item.last)}' {reason}"
        if stretches and first <= stretches[-1][1] + 2:
            stretches[-1][1] = max(last, stretches[-1][1])
            reasons[-1].append(why)
        else:
            stretches.append([first, last])
            reasons.append([why])
    return tuple(
        Unplaced(
            id=f"u{number}",
            why="; ".join(dict.fromkeys(why)),
            evidence=(stretch_evidence(draft, draft.tokens[a].first_word, draft.tokens[b].last_word, recording),),
        )
        for number, ((a, b), why) in enumerate(zip(stretches, reasons, strict=True), 1)
    )


def _least(family: str, item: Dependent) -> float:
    """How sure the encoder must be of it: of a fault in words that are no everyday ones, hardly at all."""
    plain = family == "condition" and isinstance(item, Mention) and item.how != "read" and not item.needs_context
    return FAULT_READ if plain else READ


def _named(scene: Scene, head: Mention, told_of: Container[str]) -> bool:
    """Whether a part was named as one of which something is told: plainly, or so far as the encoder can tell."""
    if head.family == "cue" or scene.scopes[head.first] & NOT_FOUND:
        return False
    return head.id in told_of or (scene.draft.encoded is not None and _read_as(scene, head, NAMING) >= READ)


def _read_as(scene: Scene, item: Dependent, kinds: str) -> float:
    """How sure the encoder is that the words are of one of these kinds of stretch; without an encoder, quite."""
    encoded, encoder = scene.draft.encoded, scene.vocabulary.encoder
    if encoded is None or encoder is None:
        return 1.0
    words = words_under(scene.draft, item.first, item.last)
    chosen = [encoder.kinds.index(kind) for kind in kinds]
    return float(encoded.tags[words.start : words.stop, chosen].sum(axis=2).mean(axis=0).sum())


def _excused(scene: Scene, item: Dependent) -> bool:
    """What was only supposed, or another vehicle's, is no finding; nor is an everyday word with no part near it."""
    if any(scene.scopes[number] & NOT_FOUND for number in range(item.first, item.last + 1)):
        return True
    return isinstance(item, Mention) and item.needs_context and not _part_near(scene, item)


def _part_near(scene: Scene, item: Mention) -> bool:
    at = bisect_left(scene.head_starts, item.first)
    near = [head for head in scene.heads[max(0, at - 2) : at + 2] if head.family != "cue"]
    return any(abs(head.first - item.first) <= NEAR for head in near)


def _clause(scene: Scene, item: Dependent) -> tuple[int, int]:
    first, last = item.first, item.last
    while first > max(0, item.first - AROUND) and scene.mass[first] - scene.mass[first - 1] < CLAUSE:
        first -= 1
    end = min(len(scene.texts) - 1, item.last + AROUND)
    while last < end and scene.mass[last + 1] - scene.mass[last] < CLAUSE:
        last += 1
    return first, last
