"""The small linear models that decide what belongs together, read from models/joining.json.

They are logistic regressions over named features, trained by models/train_joining.py; narrate only adds up weights.
"""

import hashlib
import json
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from narrate.settings import project_folder


@dataclass(frozen=True, slots=True)
class Classes:
    """Weights of a choice among several: for each feature one number a class, in the order of `names`."""

    names: tuple[str, ...]
    weights: Mapping[str, Sequence[float]]


@dataclass(frozen=True, slots=True, eq=False)
class Joiner:
    """Weights by feature: `link` (dependent to head), `same` (head to earlier head), `status` (of a finding)."""

    link: Mapping[str, float]
    same: Mapping[str, float]
    status: Classes


def weigh(weights: Mapping[str, float], features: Iterable[str]) -> float:
    """The summed weights; a feature never seen in training weighs nothing."""
    return sum([weights.get(feature, 0.0) for feature in features])


def logistic(total: float) -> float:
    """A probability from a summed weight."""
    return 1.0 / (1.0 + math.exp(-total)) if -30.0 < total < 30.0 else (1.0 - 1e-13 if total > 0 else 1e-13)


def probability(weights: Mapping[str, float], features: Iterable[str]) -> float:
    """Logistic of the summed weights and their bias."""
    return logistic(weights.get("bias", 0.0) + weigh(weights, features))


def most_likely(
    classes: Classes, features: Iterable[str], *, unless: str, needed: float, never: frozenset[str] = frozenset()
) -> tuple[str, float]:
    """The likeliest class that is not `never`, and its probability; `unless` only if it is `needed` likely."""
    return choose(class_totals(classes, features), unless=unless, needed=needed, never=never)


def class_totals(classes: Classes, features: Iterable[str]) -> dict[str, float]:
    """The summed weights of each class."""
    rows = [row for feature in ("bias", *features) if (row := classes.weights.get(feature))]
    totals = [sum(column) for column in zip(*rows, strict=True)] or [0.0] * len(classes.names)
    return dict(zip(classes.names, totals, strict=True))


def choose(
    totals: Mapping[str, float], *, unless: str, needed: float, never: frozenset[str] = frozenset()
) -> tuple[str, float]:
    """The likeliest class by summed weights, as `most_likely` takes it."""
    highest = max(totals.values(), default=0.0)
    shares = {name: math.exp(total - highest) for name, total in totals.items()}
    whole = sum(shares.values())
    if shares.get(unless, 0.0) >= needed * whole:
        return unless, shares[unless] / whole
    best = max(
        (name for name in shares if name != unless and name not in never),
        key=lambda name: (shares[name], name),
        default=unless,
    )
    return best, shares[best] / whole


@lru_cache(maxsize=1)
def joiner_digest() -> str:
    """Which weights these are: `sha256:` and the digest of their file."""
    return f"sha256:{hashlib.sha256(_weights_file().read_bytes()).hexdigest()}"


def _weights_file() -> Path:
    return project_folder("models") / "joining.json"


@lru_cache(maxsize=1)
def load_joiner() -> Joiner:
    """The shipped weights."""
    kept = json.loads(_weights_file().read_text("utf-8"))
    return Joiner(kept["link"], kept["same"], Classes(tuple(kept["status_names"]), kept["status"]))
