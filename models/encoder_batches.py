"""Prepared narrations as tensors, one by one and side by side."""

import random
from dataclasses import dataclass
from typing import Any

import torch
from tokenizers import BertWordPieceTokenizer
from torch import Tensor

LONGEST = 510
"""Pieces the encoder can read at once, its two marks not counted."""
TOKENS, MIXED = 5000, 400
"""Pieces in a batch, filling included; among how many examples those of like length are looked for."""


@dataclass
class Example:
    """One narration as tensors."""

    name: str
    ids: Tensor
    tags: Tensor
    spans: Tensor
    families: Tensor
    link: tuple[Tensor, Tensor, Tensor]
    same: tuple[Tensor, Tensor, Tensor]
    groups: list[tuple[Tensor, Tensor, int, Tensor]]
    meant: dict[str, tuple[Tensor, Tensor]]


def load(data: dict[str, Any], tokenizer: BertWordPieceTokenizer) -> list[Example]:
    """All narrations as tensors; what lies behind the longest input is left out."""
    return [_example(one, data, tokenizer) for one in data["narrations"]]


def _example(one: dict[str, Any], data: dict[str, Any], tokenizer: BertWordPieceTokenizer) -> Example:
    pieces, starts = [tokenizer.token_to_id("[CLS]")], []
    for word in one["words"]:
        starts.append(len(pieces))
        pieces += tokenizer.encode(word, add_special_tokens=False).ids or [tokenizer.token_to_id("[UNK]")]
    starts.append(len(pieces))
    pieces = [*pieces[:LONGEST], tokenizer.token_to_id("[SEP]")]
    where = [(min(starts[a], LONGEST - 1), min(starts[b + 1] - 1, LONGEST - 1)) for _, a, b in one["spans"]]
    tags = torch.full((len(pieces),), -100)
    kinds = data["kinds"]
    for start in starts[:-1]:
        if start < LONGEST:
            tags[start] = 0
    for kind, first, last, _ in one["stretches"]:
        for word in range(first, last + 1):
            if starts[word] < LONGEST:
                tags[starts[word]] = 1 + 2 * kinds.index(kind) + (word > first)
    meant = {}
    for family, letter in (("conditions", "K "), ("actions", "A ")):
        told = [
            (starts[a], starts[b + 1] - 1, data[family].index(v[2:]))
            for _, a, b, v in one["stretches"]
            if v.startswith(letter) and v[2:] in data[family] and starts[b + 1] <= LONGEST
        ]
        meant[family] = (
            torch.tensor([t[:2] for t in told], dtype=torch.long).reshape(-1, 2),
            torch.tensor([t[2] for t in told], dtype=torch.long),
        )
    return Example(
        name=one["name"],
        ids=torch.tensor(pieces),
        tags=tags,
        spans=torch.tensor(where, dtype=torch.long).reshape(-1, 2),
        families=torch.tensor([f for f, *_ in one["spans"]], dtype=torch.long),
        link=_pairs(one["links"], data["link_numbers"]),
        same=_pairs(one["same"], data["same_numbers"]),
        groups=[
            (torch.tensor(h), torch.tensor([*h, *d]), status, torch.tensor(known))
            for h, d, status, known in one["groups"]
        ],
        meant=meant,
    )


def _pairs(rows: list[Any], numbers: int) -> tuple[Tensor, Tensor, Tensor]:
    return (
        torch.tensor([r[:2] for r in rows], dtype=torch.long).reshape(-1, 2),
        torch.tensor([r[2] for r in rows], dtype=torch.float32),
        torch.tensor([r[3] for r in rows], dtype=torch.float32).reshape(len(rows), numbers),
    )


@dataclass
class Batch:
    """Narrations side by side: piece ids [n, width], and every index counted through the whole batch."""

    ids: Tensor
    mask: Tensor
    tags: Tensor
    spans: Tensor
    """[spans, 3]: row, first and last piece."""
    families: Tensor
    pairs: dict[str, tuple[Tensor, Tensor, Tensor]]
    members: Tensor
    """[members, 2]: number of group and of span."""
    statuses: Tensor
    known: Tensor
    meant: dict[str, tuple[Tensor, Tensor]]


def batches(examples: list[Example]) -> list[list[Example]]:
    """All examples once, by chance, those of like length side by side, about TOKENS pieces at a time."""
    shuffled = random.sample(examples, len(examples))
    made: list[list[Example]] = []
    for start in range(0, len(shuffled), MIXED):
        group: list[Example] = []
        for e in sorted(shuffled[start : start + MIXED], key=lambda one: len(one.ids)):
            if group and (len(group) + 1) * len(e.ids) > TOKENS:
                made.append(group)
                group = []
            group.append(e)
        made.append(group)
    return random.sample(made, len(made))


def collate(examples: list[Example], device: str) -> Batch:
    """Put narrations side by side."""
    width = max(len(e.ids) for e in examples)
    ids = torch.zeros(len(examples), width, dtype=torch.long)
    mask, tags = torch.zeros_like(ids), torch.full_like(ids, -100)
    at, groups, spans, members = 0, 0, [], []
    pairs: dict[str, list[tuple[Tensor, Tensor, Tensor]]] = {"link": [], "same": []}
    meant: dict[str, list[tuple[Tensor, Tensor]]] = {"conditions": [], "actions": []}
    for row, e in enumerate(examples):
        ids[row, : len(e.ids)], mask[row, : len(e.ids)], tags[row, : len(e.ids)] = e.ids, 1, e.tags
        spans.append(_rowed(row, e.spans))
        for name, (index, answers, numbers) in (("link", e.link), ("same", e.same)):
            if len(index):
                pairs[name].append((index + at, answers, numbers))
        for family, (where, answers) in e.meant.items():
            meant[family].append((_rowed(row, where), answers))
        for _, mine, _, _ in e.groups:
            members.append(torch.stack([torch.full_like(mine, groups), mine + at], 1))
            groups += 1
        at += len(e.spans)
    return Batch(
        ids=ids.to(device),
        mask=mask.to(device),
        tags=tags.to(device),
        spans=torch.cat(spans).to(device),
        families=torch.cat([e.families for e in examples]).to(device),
        pairs={name: _joined(rows, device) for name, rows in pairs.items() if rows},
        members=torch.cat(members).to(device),
        statuses=torch.tensor([s for e in examples for _, _, s, _ in e.groups], device=device),
        known=torch.stack([k for e in examples for *_, k in e.groups]).to(device),
        meant={name: _joined(rows, device) for name, rows in meant.items()},
    )


def _rowed(row: int, where: Tensor) -> Tensor:
    return torch.cat([torch.full((len(where), 1), row), where], 1)


def _joined(rows: list[tuple[Tensor, ...]], device: str) -> tuple[Tensor, ...]:
    return tuple(torch.cat(column).to(device) for column in zip(*rows, strict=True))
