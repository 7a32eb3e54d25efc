"""Train the encoder that reads narrations, from the file `encoder_data.py` makes.

    python models/train_encoder.py DATA.json.xz BASE OUT [--holdout bhp] [--count N] [--passes 40] [--seed 1]

BASE is a folder with a small BERT (config.json, model.safetensors, vocab.txt). OUT gets encoder.onnx (int8),
heads.npz, vocab.txt and encoder.json, which narrate reads. Needs torch, transformers, onnx and onnxruntime; with a
CUDA card two minutes, without one about an hour.
"""

import hashlib
import json
import lzma
import random
import time
from collections import deque
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import click
import torch
from encoder_batches import Batch, Example, batches, collate, load
from encoder_export import export
from encoder_net import PARTS, WIDE, Network, Sizes, span_means
from safetensors.torch import load_file
from tokenizers import BertWordPieceTokenizer
from torch import Tensor, nn
from transformers import BertConfig, BertModel

ENCODER_RATE, HEADS_RATE = 2e-4, 1e-3
MASKED = 0.06
"""Pieces hidden from the encoder while it learns."""
AHEAD = 6
"""Batches that wait ready for the card."""
KEEP = 0.998
"""How much of the running mean of the weights each step keeps."""
DROP = 0.1
"""Share of the encoder's output dropped while it learns."""
WEIGHTS = {"tag": 1.0, "link": 4.0, "same": 2.0, "status": 1.0, "condition": 0.5, "action": 0.3}
POSITIVE = 2.0
"""A pair that belongs together counts this much more than one that does not."""
KNOWN = {"link": slice(10, 12), "same": slice(7, 9)}
"""Where among the numbers of a pair the linear model's are."""


class Trainer:
    """One training run."""

    def __init__(self, network: Network, parts: list[int], device: str, *, known: bool = True) -> None:
        self.network, self.device, self.known = network.to(device), device, known
        self.parts = torch.tensor(parts, device=device)

    def outputs(self, batch: Batch, mask_id: int = 0, masked: float = 0.0) -> dict[str, tuple[Tensor, Tensor]]:
        """(scores, answers) of each task over a batch."""
        ids = batch.ids
        if masked:
            hidden_pieces = (torch.rand(ids.shape, device=ids.device) < masked) & (batch.mask > 0)
            ids = torch.where(hidden_pieces, torch.full_like(ids, mask_id), ids)
        with torch.autocast(self.device, dtype=torch.bfloat16, enabled=self.device == "cuda"):
            hidden = self.network.encode(ids, batch.mask)
        hidden = self.network.drop(hidden.float())
        told = batch.tags >= 0
        out = {"tag": (self.network.tag(hidden[told]), batch.tags[told])}
        vectors = span_means(hidden, batch.spans)
        for name, (pairs, answers, numbers) in batch.pairs.items():
            if not self.known:
                numbers = numbers.clone()
                numbers[:, KNOWN[name]] = 0
            score = getattr(self.network, name)(
                vectors[pairs[:, 0]], vectors[pairs[:, 1]], batch.families[pairs], numbers
            )
            out[name] = (score, answers)
        out["status"] = (self.network.status(self._pooled(batch, vectors)), batch.statuses)
        for name, task in (("conditions", "condition"), ("actions", "action")):
            where, answers = batch.meant[name]
            if len(where):
                out[task] = (getattr(self.network, task)(span_means(hidden, where)), answers)
        return out

    def _pooled(self, batch: Batch, vectors: Tensor) -> Tensor:
        """Mean vectors of each sort of stretch in a group, which sorts there are, and the linear model's sums."""
        groups = len(batch.statuses)
        slot = batch.members[:, 0] * PARTS + self.parts[batch.families[batch.members[:, 1]]]
        summed = vectors.new_zeros(groups * PARTS, WIDE).index_add(0, slot, vectors[batch.members[:, 1]])
        count = vectors.new_zeros(groups * PARTS).index_add(0, slot, vectors.new_ones(len(slot)))
        mean = (summed / count.clamp(min=1).unsqueeze(1)).reshape(groups, PARTS * WIDE)
        known = batch.known if self.known else torch.zeros_like(batch.known)
        return torch.cat([mean, (count > 0).float().reshape(groups, PARTS), known], 1)

    def fit(
        self, examples: list[Example], *, passes: int, mask_id: int, rate: float, masked: float, keep: float
    ) -> None:
        """Train with warm-up and linear decay; what is kept in the end is a running mean of the weights."""
        network = self.network
        groups = [
            {"params": list(network.bert.parameters()), "lr": rate},
            {"params": [p for n, p in network.named_parameters() if not n.startswith("bert.")], "lr": HEADS_RATE},
        ]
        optimizer = torch.optim.AdamW(groups, weight_decay=0.01)
        steps = passes * len(batches(examples))
        warm = max(1, steps // 10)
        schedule = torch.optim.lr_scheduler.LambdaLR(
            optimizer, lambda n: min((n + 1) / warm, max(0.0, (steps - n) / (steps - warm)))
        )
        weights = list(network.parameters())
        mean = [w.detach().clone() for w in weights]
        network.train()
        for done in range(passes):
            total, order = torch.zeros((), device=self.device), batches(examples)
            for batch in _ahead(order, self.device):
                outputs = self.outputs(batch, mask_id, masked)
                loss = sum(WEIGHTS[task] * _loss(task, *pair) for task, pair in outputs.items())
                optimizer.zero_grad()
                loss.backward()
                nn.utils.clip_grad_norm_(network.parameters(), 1.0)
                optimizer.step()
                schedule.step()
                with torch.no_grad():
                    # The mean begins anew until the rates have warmed up.
                    torch._foreach_lerp_(mean, weights, 1 - keep if schedule.last_epoch > warm else 1.0)
                total += loss.detach()
            click.echo(f"pass {done + 1} of {passes}: loss {float(total) / len(order):.3f}", err=True)

        with torch.no_grad():
            torch._foreach_copy_(weights, mean)

    def measure(self, examples: list[Example]) -> dict[str, float]:
        """F1 of pairs and tags, accuracy of the rest."""
        self.network.eval()
        with torch.no_grad():
            gathered: dict[str, list[tuple[Tensor, Tensor]]] = {}
            for group in batches(examples):
                for task, pair in self.outputs(collate(group, self.device)).items():
                    gathered.setdefault(task, []).append(pair)
        out = {}
        for task, rows in gathered.items():
            scores, answers = torch.cat([a for a, _ in rows]), torch.cat([b for _, b in rows])
            if task in ("link", "same"):
                out[task] = _f1(scores > 0, answers > 0.5)
            else:
                chosen = scores.argmax(1)
                out[task] = float((chosen == answers).float().mean())
                if task == "tag":
                    out["tag F1"] = (
                        2
                        * float(((chosen == answers) & (answers > 0)).sum())
                        / float((chosen > 0).sum() + (answers > 0).sum())
                    )
        return {k: round(v, 4) for k, v in out.items()}


def _f1(found: Tensor, true: Tensor) -> float:
    return 2 * float((found & true).sum()) / max(1.0, float(found.sum() + true.sum()))


def _ahead(groups: list[list[Example]], device: str) -> Iterator[Batch]:
    """Batches in order, the next ones made ready while the card works."""
    with ThreadPoolExecutor(1) as pool:
        waiting = deque(pool.submit(collate, group, device) for group in groups[:AHEAD])
        for group in groups[AHEAD:]:
            yield waiting.popleft().result()
            waiting.append(pool.submit(collate, group, device))
        while waiting:
            yield waiting.popleft().result()


def _loss(task: str, scores: Tensor, answers: Tensor) -> Tensor:
    if task in ("link", "same"):
        weight = torch.where(answers > 0.5, POSITIVE, 1.0)
        return nn.functional.binary_cross_entropy_with_logits(scores, answers, weight=weight)
    return nn.functional.cross_entropy(scores, answers)


@click.command()
@click.argument("data", type=click.Path(path_type=Path, exists=True))
@click.argument("base", type=click.Path(path_type=Path, exists=True))
@click.argument("out", type=click.Path(path_type=Path))
@click.option(
    "--holdout",
    default="",
    help="Measure on the narrations that begin with one of these letters; do not train on them.",
)
@click.option("--count", default=0, help="Train on that many narrations only, drawn by the seed.")
@click.option("--passes", default=40)
@click.option("--seed", default=1)
@click.option("--rate", default=ENCODER_RATE)
@click.option("--masked", default=MASKED)
@click.option("--keep", default=KEEP)
@click.option("--drop", default=DROP)
@click.option("--alone", is_flag=True, help="Without what the linear models think.")
def main(
    data: Path,
    base: Path,
    out: Path,
    holdout: str,
    count: int,
    passes: int,
    seed: int,
    rate: float,
    masked: float,
    keep: float,
    drop: float,
    alone: bool,
) -> None:
    """Train, measure on what was held out, and export."""
    random.seed(seed)
    torch.manual_seed(seed)
    begun = time.monotonic()
    raw = data.read_bytes()
    content = json.loads(lzma.decompress(raw))
    tokenizer = BertWordPieceTokenizer(str(base / "vocab.txt"), lowercase=True)
    examples = load(content, tokenizer)
    learn = [e for e in examples if e.name[0] not in holdout]
    names = sorted({e.name for e in learn})
    if count:
        names = random.sample(names, count)
        learn = [e for e in learn if e.name in set(names)]
    bert = BertModel(BertConfig.from_pretrained(base), add_pooling_layer=False)
    bert.load_state_dict({k: v.float() for k, v in load_file(base / "model.safetensors").items()}, strict=True)
    sizes = Sizes(
        tags=1 + 2 * len(content["kinds"]),
        families=len(content["families"]),
        statuses=len(content["statuses"]),
        conditions=len(content["conditions"]),
        actions=len(content["actions"]),
        link_numbers=content["link_numbers"],
        same_numbers=content["same_numbers"],
    )
    device = "cuda" if torch.cuda.is_available() else "cpu"
    trainer = Trainer(Network(bert, sizes, drop), content["parts"], device, known=not alone)
    trainer.fit(learn, passes=passes, mask_id=tokenizer.token_to_id("[MASK]"), rate=rate, masked=masked, keep=keep)
    held = [e for e in examples if e.name[0] in holdout]
    figures = trainer.measure(held) if held else {}
    click.echo(f"{len(names)} narrations, {time.monotonic() - begun:.0f} s, held out: {figures}")
    about = {
        "schema": "narrate.encoder/1",
        "trained_on": {"narrations": len(names), "sha256": hashlib.sha256(raw).hexdigest(), "holdout": holdout},
        "seed": seed,
        "passes": passes,
        "linear": not alone,
        "held_out": figures,
        **{key: content[key] for key in ("kinds", "families", "statuses", "conditions", "actions")},
    }
    export(trainer.network.cpu().eval(), base, out, about)


if __name__ == "__main__":
    main()
