"""What the encoder thinks of the pairs and groups of a scene."""

from collections.abc import Iterator, Mapping, Sequence

import numpy as np

from narrate.find.draft import Mention
from narrate.find.encoder import Array, Encoded, Encoder
from narrate.find.group_features import same_features, status_features
from narrate.find.linear import class_totals, weigh
from narrate.find.pairs import PARTS, SCALE, family_of, link_numbers, part_of, same_numbers, same_pairs, status_sums
from narrate.find.scene import Dependent, Scene

SHARE = 0.9
"""How much the encoder's word counts beside the linear model's, which it knows."""


def _loaded(scene: Scene) -> tuple[Encoder, Encoded]:
    encoder, encoded = scene.vocabulary.encoder, scene.draft.encoded
    assert encoder is not None
    assert encoded is not None
    return encoder, encoded


def _vectors(scene: Scene, encoded: Encoded, items: Sequence[Dependent]) -> Array:
    tokens = scene.draft.tokens
    return encoded.means([(tokens[i.first].first_word, tokens[i.last].last_word) for i in items])


def link_scores(scene: Scene, pairs: Sequence[Sequence[int]], totals: Sequence[Mapping[int, float]]) -> Iterator[float]:
    """Logits, in order, of each dependent with each of the heads named for it; `totals` are the linear model's."""
    encoder, encoded = _loaded(scene)
    rows, families, numbers = [], [], []
    for at, (family, item) in enumerate(scene.dependents):
        for head in pairs[at]:
            rows.append((head, at))
            families.append((encoder.families[family_of(scene.heads[head])], encoder.families[family]))
            numbers.append(link_numbers(scene, head, family, item, totals[at].get(head)))
    if not rows:
        return iter(())
    heads = _vectors(scene, encoded, scene.heads)
    dependents = _vectors(scene, encoded, [item for _, item in scene.dependents])
    scores = encoder.pair_scores(
        "link", heads, dependents, np.array(rows), np.array(families), np.array(numbers, dtype=np.float32)
    )
    return iter(scores.tolist())


def same_scores(scene: Scene) -> dict[tuple[int, int], float]:
    """Logits of each head with the earlier heads it may speak of again: (earlier, later) -> logit."""
    encoder, encoded = _loaded(scene)
    weights = scene.vocabulary.joiner.same
    rows = [(earlier, later) for later in range(len(scene.heads)) for earlier in same_pairs(scene, later)]
    if not rows:
        return {}
    families = [[encoder.families[family_of(scene.heads[n])] for n in pair] for pair in rows]
    numbers = [
        same_numbers(scene, *pair, weights.get("bias", 0.0) + weigh(weights, same_features(scene, *pair)))
        for pair in rows
    ]
    vectors = _vectors(scene, encoded, scene.heads)
    scores = encoder.pair_scores(
        "same", vectors, vectors, np.array(rows), np.array(families), np.array(numbers, dtype=np.float32)
    )
    return dict(zip(rows, scores.tolist(), strict=True))


def status_totals(
    scene: Scene, groups: Sequence[tuple[list[Mention], list[tuple[str, Dependent, float]]]]
) -> list[dict[str, float]]:
    """Logits of each status for groups of heads and what is linked to them."""
    if not groups:
        return []
    encoder, encoded = _loaded(scene)
    rows, sums = [], []
    for heads, linked in groups:
        sorts: list[list[Dependent]] = [[] for _ in range(PARTS)]
        for head in heads:
            sorts[part_of(family_of(head))].append(head)
        for family, item, _ in linked:
            sorts[part_of(family)].append(item)
        wide = encoded.summed.shape[1]
        means = [_vectors(scene, encoded, s).mean(axis=0) if s else np.zeros(wide, np.float32) for s in sorts]
        totals = class_totals(scene.vocabulary.joiner.status, status_features(scene, heads, linked))
        sums.append(status_sums(totals, encoder.statuses))
        known = [total / SCALE for total in sums[-1]]
        rows.append(np.concatenate([*means, np.array([*(float(bool(s)) for s in sorts), *known], np.float32)]))
    scores = encoder.status_scores(np.stack(rows).astype(np.float32))
    mixed = SHARE * scores + (1 - SHARE) * np.array(sums, np.float32)
    return [dict(zip(encoder.statuses, row.tolist(), strict=True)) for row in mixed]
