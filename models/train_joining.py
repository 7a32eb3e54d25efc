"""Train the small linear models of find/ from narrations with every stretch labelled.

    python models/train_joining.py [--holdout STYLES] [--folder models/training] [--out models/joining.json]

Reads labelled narrations (format: models/training/README.md), runs the stages of find/ that need no training over
their text, matches what the stages found with what people labelled, and fits three logistic regressions: which
head a stretch belongs to, which heads speak of one finding, and what kind of statement a finding is.
Needs numpy and scipy only. Same data, same weights.
"""

import hashlib
import json
import sys
from collections import Counter
from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Any

import click
import numpy as np
from scipy.optimize import minimize
from scipy.sparse import csr_matrix

sys.path.insert(0, str(Path(__file__).parents[1]))

from labelled import Labelled, numbers_of, read_labelled
from pieces import with_pieces

from narrate.find.draft import Draft, Mention
from narrate.find.group_features import same_features, status_features
from narrate.find.grouping import cluster_heads, gather, linked_by_head, same_candidates
from narrate.find.joining import candidates, join
from narrate.find.linear import Classes, Joiner
from narrate.find.link_features import core_features, legality_features, link_core, link_features, side_of
from narrate.find.scene import Scene
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.records.recording import Word
from narrate.words.load import load_lexicon

RARE = 3
"""A feature seen less often than this is left out."""
LIGHT = 0.02
"""Weights below this are left out."""
STRENGTH = {"link": 1.0, "same": 1.0, "status": 2.0}
"""L2 penalty."""


def fit(rows: list[list[str]], answers: np.ndarray, penalty: float) -> dict[str, float]:
    """Binary logistic regression; returns weights by feature, `bias` among them."""
    counts = Counter(feature for row in rows for feature in set(row))
    names = sorted(name for name, count in counts.items() if count >= RARE)
    column = {name: number for number, name in enumerate(names)}
    matrix = _matrix(rows, column)

    def loss(weights: np.ndarray) -> tuple[float, np.ndarray]:
        score = matrix @ weights[:-1] + weights[-1]
        sign = np.where(answers > 0, 1.0, -1.0)
        value = np.logaddexp(0, -sign * score).sum() + penalty / 2 * (weights[:-1] ** 2).sum()
        slope = -sign / (1 + np.exp(sign * score))
        return value, np.append(matrix.T @ slope + penalty * weights[:-1], slope.sum())

    best = minimize(loss, np.zeros(len(names) + 1), jac=True, method="L-BFGS-B", options={"maxiter": 300})
    return _kept(names, best.x)


def fit_classes(rows: list[list[str]], answers: list[str], penalty: float) -> Classes:
    """Softmax regression."""
    classes = sorted(set(answers))
    counts = Counter(feature for row in rows for feature in set(row))
    names = sorted(name for name, count in counts.items() if count >= RARE)
    matrix = _matrix(rows, {name: number for number, name in enumerate(names)})
    target = np.array([classes.index(answer) for answer in answers])
    wanted = np.eye(len(classes))[target]

    def loss(flat: np.ndarray) -> tuple[float, np.ndarray]:
        weights = flat.reshape(len(names) + 1, len(classes))
        score = matrix @ weights[:-1] + weights[-1]
        score -= score.max(axis=1, keepdims=True)
        logs = score - np.log(np.exp(score).sum(axis=1, keepdims=True))
        value = -(wanted * logs).sum() + penalty / 2 * (weights[:-1] ** 2).sum()
        slope = np.exp(logs) - wanted
        return value, np.vstack([matrix.T @ slope + penalty * weights[:-1], slope.sum(axis=0)]).ravel()

    start = np.zeros((len(names) + 1) * len(classes))
    best = minimize(loss, start, jac=True, method="L-BFGS-B", options={"maxiter": 300})
    weights = best.x.reshape(len(names) + 1, len(classes))
    kept = {
        name: [round(float(w), 3) for w in row]
        for name, row in zip((*names, "bias"), weights, strict=True)
        if name == "bias" or np.abs(row).max() >= LIGHT
    }
    return Classes(tuple(classes), kept)


def _matrix(rows: list[list[str]], column: dict[str, int]) -> csr_matrix:
    pointers, indices, values = [0], [], []
    for row in rows:
        # A feature named twice counts twice, as it does when the weights are added up.
        for name, count in sorted(Counter(row).items()):
            if name in column:
                indices.append(column[name])
                values.append(float(count))
        pointers.append(len(indices))
    return csr_matrix((values, indices, pointers), shape=(len(rows), len(column)))


def _kept(names: list[str], weights: np.ndarray) -> dict[str, float]:
    kept = {name: round(float(w), 3) for name, w in zip(names, weights[:-1], strict=True) if abs(w) >= LIGHT}
    return {"bias": round(float(weights[-1]), 3), **kept}


def train(narrations: Iterable[Labelled], words: Vocabulary) -> Joiner:
    """Fit the three models one after the other, each on what the earlier ones make of the text."""
    drafts = [(n, run_stages((Word(text=w) for w in n.words), words, READING)) for n in narrations]
    link = _train_link(drafts, words)
    same = _train_same(drafts, words)
    ready = replace(words, joiner=Joiner(link, same, Classes((), {})))
    return Joiner(link, same, _train_status(drafts, ready))


def _train_link(drafts: list[tuple[Labelled, Draft]], words: Vocabulary) -> dict[str, float]:
    rows, answers = [], []
    for labelled, draft in drafts:
        scene = Scene(draft, words)
        heads = [numbers_of(labelled, draft, h.first, h.last, "CI") for h in scene.heads]
        for family, item in scene.dependents:
            mine = numbers_of(labelled, draft, item.first, item.last)
            for number in candidates(scene, family, item):
                side = side_of(scene, family, item, after=item.first > scene.heads[number].first)
                core = core_features(link_core(scene, number, side))
                legal = legality_features(scene, scene.heads[number], side)
                rows.append([*side.features, *core, *legal, *link_features(scene, number, side)])
                answers.append(bool(mine & heads[number]))
    click.echo(f"link: {len(rows)} pairs, {sum(answers)} joined", err=True)
    return fit(rows, np.array(answers), STRENGTH["link"])


def _train_same(drafts: list[tuple[Labelled, Draft]], words: Vocabulary) -> dict[str, float]:
    rows, answers = [], []
    for labelled, draft in drafts:
        scene = Scene(draft, words)
        heads = [numbers_of(labelled, draft, h.first, h.last, "CI") for h in scene.heads]
        for later in range(len(heads)):
            for earlier in same_candidates(scene, later):
                rows.append(same_features(scene, earlier, later))
                answers.append(bool(heads[later] & heads[earlier]))
    click.echo(f"same: {len(rows)} pairs, {sum(answers)} the same", err=True)
    return fit(rows, np.array(answers), STRENGTH["same"])


def _train_status(drafts: list[tuple[Labelled, Draft]], words: Vocabulary) -> Classes:
    rows: list[list[str]] = []
    answers: list[str] = []
    for labelled, draft in drafts:
        scene = Scene(join(draft, words), words)
        linked = linked_by_head(scene)
        for heads in cluster_heads(scene):
            rows.append(status_features(scene, heads, gather(heads, linked)))
            answers.append(_status(labelled, draft, heads))
    click.echo(f"status: {Counter(answers)}", err=True)
    return fit_classes(rows, answers, STRENGTH["status"])


def _status(labelled: Labelled, draft: Draft, heads: list[Mention]) -> str:
    votes = Counter(labelled.status[n] for h in heads for n in numbers_of(labelled, draft, h.first, h.last, "CI"))
    return votes.most_common(1)[0][0] if votes else "none"


def _a_line_each(kept: dict[str, Any]) -> str:
    """JSON with a line for each feature, so that a change of weights can be read."""
    parts = []
    for name, value in sorted(kept.items()):
        if isinstance(value, dict) and name != "trained_on":
            lines = ",\n".join(f"{json.dumps(key)}: {json.dumps(value[key])}" for key in sorted(value))
            parts.append(f"{json.dumps(name)}: {{\n{lines}\n}}")
        else:
            parts.append(f"{json.dumps(name)}: {json.dumps(value)}")
    return "{\n" + ",\n".join(parts) + "\n}\n"


@click.command()
@click.option("--folder", type=click.Path(path_type=Path, exists=True), default=Path(__file__).parent / "training")
@click.option("--out", type=click.Path(path_type=Path), default=Path(__file__).parent / "joining.json")
@click.option("--holdout", default="", help="Leave out the files that begin with one of these letters.")
def main(folder: Path, out: Path, holdout: str) -> None:
    """Train and write the weights."""
    files = [path for path in sorted(folder.rglob("*.txt")) if path.stem[0] not in holdout]
    digest = hashlib.sha256(b"".join(path.read_bytes() for path in files)).hexdigest()
    narrations = with_pieces(read_labelled(path) for path in files)
    joiner = train(narrations, vocabulary(load_lexicon(), Joiner({}, {}, Classes((), {}))))
    kept = {
        "schema": "narrate.joining/1",
        "trained_on": {"narrations": len(files), "sha256": digest, "holdout": holdout},
        "link": joiner.link,
        "same": joiner.same,
        "status_names": joiner.status.names,
        "status": joiner.status.weights,
    }
    out.write_text(_a_line_each(kept), "utf-8")
    click.echo(f"wrote {out} from {len(files)} narrations", err=True)


if __name__ == "__main__":
    main()
