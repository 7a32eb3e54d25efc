"""The trained encoder: words in, a vector for every word and what kind of stretch it lies in. Sole home of onnxruntime.

models/encoder/ holds what models/train_encoder.py made: the encoder as int8 ONNX and the small networks on top of
it as plain arrays, which numpy multiplies. Without these files find/ works by rules and linear models alone.
"""

import hashlib
import json
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from tokenizers import BertWordPieceTokenizer

from narrate.settings import project_folder

Array = NDArray[np.float32]
WINDOW, OVERLAP = 320, 90
"""Pieces read at once, and by how many two windows overlap; every word takes its vector where it lies most central."""
FILES = ("encoder.onnx", "heads.npz", "encoder.json", "vocab.txt")


@dataclass(frozen=True, eq=False)
class Encoded:
    """The words of one recording as the encoder sees them."""

    summed: Array
    """[pieces + 1, wide]: vectors summed up to each piece, so that the mean of a stretch is a difference."""
    starts: tuple[int, ...]
    """First piece of each word, and one more for the end."""
    tags: Array
    """[words, kinds, 2]: how likely each word begins or goes on with a stretch of each kind."""

    def means(self, spans: Sequence[tuple[int, int]]) -> Array:
        """Mean vectors of stretches of words, first and last inclusive: [n, wide]."""
        first = np.array([self.starts[a] for a, _ in spans], dtype=np.int64)
        last = np.array([self.starts[b + 1] for _, b in spans], dtype=np.int64)
        lengths = (last - first).astype(np.float32)
        means: Array = (self.summed[last] - self.summed[first]) / lengths[:, np.newaxis]
        return means


@dataclass(frozen=True, eq=False)
class Encoder:
    """The loaded files."""

    session: Any
    tokenizer: BertWordPieceTokenizer
    heads: dict[str, Array]
    kinds: str
    families: dict[str, int]
    statuses: tuple[str, ...]
    conditions: tuple[str, ...]
    actions: tuple[str, ...]
    pieces: dict[str, tuple[int, ...]] = field(default_factory=dict)
    """Words met so far and their pieces."""

    def encode(self, words: Sequence[str]) -> Encoded:
        """Read the words of a recording."""
        ids, starts = self._pieces(words)
        vectors = np.empty((len(ids), 0), np.float32)
        tags = vectors
        best = np.full(len(ids), -1)
        for first in range(0, max(1, len(ids) - OVERLAP), WINDOW - OVERLAP):
            part = ids[first : first + WINDOW]
            seen, scored = self._run(part)
            if not vectors.shape[1]:
                vectors = np.zeros((len(ids), seen.shape[1]), np.float32)
                tags = np.zeros((len(ids), scored.shape[1]), np.float32)
            place = np.arange(len(part))
            central = np.minimum(place, len(part) - 1 - place)
            # At the ends of the recording nothing lies further out: there the only window is central enough.
            better = central > best[first : first + len(part)]
            rows = first + np.flatnonzero(better)
            vectors[rows], tags[rows], best[rows] = seen[better], scored[better], central[better]
        summed = np.concatenate([np.zeros((1, vectors.shape[1]), np.float32), np.cumsum(vectors, axis=0)])
        scores = tags[np.array(starts[:-1], dtype=np.int64)] if words else tags
        likely = _softmax(scores)[:, 1:].reshape(len(words), len(self.kinds), 2)
        return Encoded(summed, tuple(starts), likely)

    def _pieces(self, words: Sequence[str]) -> tuple[list[int], list[int]]:
        ids: list[int] = []
        starts: list[int] = []
        for word in words:
            starts.append(len(ids))
            known = self.pieces.get(word)
            if known is None:
                known = tuple(self.tokenizer.encode(word, add_special_tokens=False).ids) or (self._id("[UNK]"),)
                self.pieces[word] = known
            ids += known
        return ids, [*starts, len(ids)]

    def _id(self, piece: str) -> int:
        return int(self.tokenizer.token_to_id(piece))

    def _run(self, part: list[int]) -> tuple[Array, Array]:
        ids = np.array([[self._id("[CLS]"), *part, self._id("[SEP]")]], dtype=np.int64)
        vectors, tags = self.session.run(None, {"ids": ids, "mask": np.ones_like(ids)})
        return vectors[0, 1:-1], tags[0, 1:-1]

    def pair_scores(
        self, name: str, one: Array, two: Array, pairs: NDArray[np.int64], families: NDArray[np.int64], numbers: Array
    ) -> Array:
        """Logits of pairs of stretches. `one`, `two`: [n, wide] vectors the pairs [p, 2] point into; numbers [p, k]."""
        arrays = self.heads
        a, b = _linear(arrays, f"{name}.one", one), _linear(arrays, f"{name}.two", two)
        product = one[pairs[:, 0]] * two[pairs[:, 1]]
        family = arrays[f"{name}.family.weight"][families].reshape(len(pairs), -1)
        hidden = a[pairs[:, 0]] + b[pairs[:, 1]] + _linear(arrays, f"{name}.both", product)
        hidden += _linear(arrays, f"{name}.rest", np.concatenate([family, numbers], axis=1))
        hidden = np.maximum(_linear(arrays, f"{name}.out.2", np.maximum(hidden, 0)), 0)
        scores: Array = _linear(arrays, f"{name}.out.4", hidden)[:, 0]
        return scores

    def status_scores(self, inputs: Array) -> Array:
        """Logits of the statuses of groups: [groups, n] -> [groups, statuses]."""
        arrays = self.heads
        return _linear(arrays, "status.3", np.maximum(_linear(arrays, "status.0", inputs), 0))

    def meanings(self, task: str, vectors: Array) -> Array:
        """How likely each condition or action is what a stretch says: [n, wide] -> [n, meanings]."""
        return _softmax(_linear(self.heads, task, vectors))


def _linear(arrays: dict[str, Array], name: str, rows: Array) -> Array:
    result: Array = rows @ arrays[f"{name}.weight"].T + arrays[f"{name}.bias"]
    return result


def _softmax(scores: Array) -> Array:
    raised = np.exp(scores - scores.max(axis=-1, keepdims=True))
    shares: Array = raised / raised.sum(axis=-1, keepdims=True)
    return shares


def encoder_folder() -> Path:
    """Where the encoder's files lie, if they are there."""
    return project_folder("models") / "encoder"


def encoder_is_there(folder: Path) -> bool:
    """Whether all its files are."""
    return all((folder / name).is_file() for name in FILES)


@lru_cache(maxsize=4)
def load_encoder(folder: Path | None = None) -> Encoder | None:
    """The encoder, or None where its files are not there."""
    folder = folder or encoder_folder()
    if not encoder_is_there(folder):
        return None
    import onnxruntime

    about = json.loads((folder / "encoder.json").read_text("utf-8"))
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    session = onnxruntime.InferenceSession(str(folder / "encoder.onnx"), options, providers=["CPUExecutionProvider"])
    with np.load(folder / "heads.npz") as kept:
        heads = {name: kept[name].astype(np.float32) for name in kept.files}
    return Encoder(
        session=session,
        tokenizer=BertWordPieceTokenizer(str(folder / "vocab.txt"), lowercase=True),
        heads=heads,
        kinds=about["kinds"],
        families={name: number for number, name in enumerate(about["families"])},
        statuses=tuple(about["statuses"]),
        conditions=tuple(about["conditions"]),
        actions=tuple(about["actions"]),
    )


@lru_cache(maxsize=1)
def encoder_digest() -> str | None:
    """Which encoder this is: `sha256:` and the digest of its files, None where there is none."""
    folder = encoder_folder()
    if not encoder_is_there(folder):
        return None
    files = [folder / name for name in FILES]
    return f"sha256:{hashlib.sha256(b''.join(file.read_bytes() for file in files)).hexdigest()}"
