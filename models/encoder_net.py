"""The network: a small pretrained encoder with heads for kinds of stretch, links, sameness, status and meaning.

Needs torch and transformers; only training imports this. narrate/find/encoder.py runs what comes out of it.
"""

from dataclasses import dataclass

import torch
from torch import Tensor, nn

WIDE, NARROW, FAMILY = 384, 192, 32
PARTS = 6
"""Coarse sorts of what is said of a part, pooled one by one for its status."""


@dataclass(frozen=True)
class Sizes:
    """How many there are of each."""

    tags: int
    families: int
    statuses: int
    conditions: int
    actions: int
    link_numbers: int
    same_numbers: int


class Pair(nn.Module):
    """A score for two stretches: their vectors, the product of these, their families and a few numbers."""

    def __init__(self, numbers: int, families: int, drop: float) -> None:
        super().__init__()
        self.family = nn.Embedding(families, FAMILY)
        self.one = nn.Linear(WIDE, NARROW)
        self.two = nn.Linear(WIDE, NARROW)
        self.both = nn.Linear(WIDE, NARROW)
        self.rest = nn.Linear(numbers + 2 * FAMILY, NARROW)
        self.out = nn.Sequential(
            nn.ReLU(), nn.Dropout(drop), nn.Linear(NARROW, NARROW), nn.ReLU(), nn.Linear(NARROW, 1)
        )

    def forward(self, a: Tensor, b: Tensor, families: Tensor, numbers: Tensor) -> Tensor:
        """a, b: [pairs, WIDE]; families: [pairs, 2]; numbers: [pairs, n] -> [pairs]"""
        rest = torch.cat([self.family(families).flatten(1), numbers], 1)
        return self.out(self.one(a) + self.two(b) + self.both(a * b) + self.rest(rest)).squeeze(1)


class Network(nn.Module):
    """Everything that is trained."""

    def __init__(self, bert: nn.Module, sizes: Sizes, drop: float) -> None:
        super().__init__()
        self.bert = bert
        self.drop = nn.Dropout(drop)
        self.tag = nn.Linear(WIDE, sizes.tags)
        self.condition = nn.Linear(WIDE, sizes.conditions)
        self.action = nn.Linear(WIDE, sizes.actions)
        self.link = Pair(sizes.link_numbers, sizes.families, drop)
        self.same = Pair(sizes.same_numbers, sizes.families, drop)
        self.status = nn.Sequential(
            nn.Linear(PARTS * WIDE + PARTS + sizes.statuses, NARROW),
            nn.ReLU(),
            nn.Dropout(drop),
            nn.Linear(NARROW, sizes.statuses),
        )

    def encode(self, ids: Tensor, mask: Tensor) -> Tensor:
        """[batch, pieces] -> [batch, pieces, WIDE]"""
        return self.bert(input_ids=ids, attention_mask=mask).last_hidden_state


class Exported(nn.Module):
    """What becomes ONNX: piece ids and mask to piece vectors and tag scores."""

    def __init__(self, network: Network) -> None:
        super().__init__()
        self.network = network

    def forward(self, ids: Tensor, mask: Tensor) -> tuple[Tensor, Tensor]:
        """[1, pieces] -> [1, pieces, WIDE], [1, pieces, tags]"""
        hidden = self.network.encode(ids, mask)
        return hidden, self.network.tag(hidden)


def span_means(hidden: Tensor, spans: Tensor) -> Tensor:
    """hidden: [rows, pieces, WIDE], spans: [n, 3] row, first and last piece inclusive -> mean vectors [n, WIDE]"""
    summed = nn.functional.pad(hidden.cumsum(1), (0, 0, 1, 0))
    row, first, last = spans.unbind(1)
    return (summed[row, last + 1] - summed[row, first]) / (last - first + 1).unsqueeze(1)
