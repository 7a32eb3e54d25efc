"""From labelled narrations to what the encoder is trained on: words, kinds, pairs, with the answers people gave.

    python models/encoder_data.py OUT.json.xz [--folder models/training]

Runs where narrate runs; the training itself (train_encoder.py) needs only the file this writes. What the linear
models think of a pair is one of the numbers the encoder sees, so it comes from linear models that were not trained on
that narration. Ten minutes.
"""

import json
import lzma
import random
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from itertools import repeat
from pathlib import Path
from typing import Any

import click

sys.path.insert(0, str(Path(__file__).parents[1]))

from labelled import Labelled, Marked, numbers_of, read_labelled
from pieces import LONGEST, is_punctuated, pieces_of, with_pieces
from train_joining import train

from narrate.find.draft import Amount, Draft, Mention
from narrate.find.group_features import same_features, status_features
from narrate.find.grouping import linked_by_head
from narrate.find.joining import join, linear_totals
from narrate.find.linear import Classes, Joiner, class_totals, weigh
from narrate.find.pairs import (
    FAMILIES,
    LINK_NUMBERS,
    SAME_NUMBERS,
    SCALE,
    family_of,
    link_numbers,
    link_pairs,
    part_of,
    same_numbers,
    same_pairs,
    status_sums,
)
from narrate.find.reading import KINDS, Stretch, add_stretches, tokens_by_word
from narrate.find.scene import Scene
from narrate.find.stages import READING, run_stages
from narrate.find.vocabulary import Vocabulary, vocabulary
from narrate.records.recording import Word
from narrate.words.load import load_lexicon
from narrate.words.phrases import phrase_words

FOLDS = 5
"""Linear models are trained on four parts and asked about the fifth."""
DROPPED = 0.8
STATUSES = ("fault", "ok", "unclear", "unchecked", "work", "none")
FITS = {
    "condition": "KU", "action": "AB", "offer": "AB", "approval": "O", "location": "LC", "amount": "M", "bare": "M",
    "price": "D", "test": "Y", "part": "P", "done": "B", "unclear": "U", "unchecked": "U", "hedge": "U",
    "reason": "R", "consequence": "E", "timing": "TB", "urgent": "T", "later": "T", "optional": "TA", "code": "ZKMRU",
    "same": "KOA",
}  # fmt: skip
"""Kinds of label under which a stretch of a family really says that of a finding."""


class Meanings:
    """Which condition or action a word of a label stands for."""

    def __init__(self, words: Vocabulary) -> None:
        self.spelling = words.lexicon.spelling
        self.known: dict[str, dict[tuple[str, ...], str]] = {"condition": {}, "action": {}}
        for phrase in words.lexicon.phrases():
            if phrase.family in self.known:
                self.known[phrase.family].setdefault(phrase.words, phrase.id)

    def of(self, family: str, value: str) -> str | None:
        """The id, or None."""
        said = phrase_words(value.lower(), self.spelling)
        return self.known[family].get(said) or self.known[family].get(said[:1])


def prepare(narrations: Sequence[Labelled], words: Vocabulary) -> dict[str, Any]:
    """Everything the training needs, as plain lists and numbers."""
    # A narration, the same one heard and their pieces lie in one fold.
    names = sorted({n.name for n in narrations})
    fold_of = {name: at % FOLDS for at, name in enumerate(names)}
    with ProcessPoolExecutor() as pool:
        folds = [[n for n in narrations if fold_of[n.name] == fold] for fold in range(FOLDS)]
        rests = [[n for n in narrations if fold_of[n.name] != fold] for fold in range(FOLDS)]
        made = [one for some in pool.map(_fold, folds, rests, repeat(words)) for one in some]
    used = Counter(v for one in made for *_, v in one["stretches"] if v)
    return {
        "kinds": KINDS,
        "families": FAMILIES,
        "parts": [part_of(family) for family in FAMILIES],
        "statuses": STATUSES,
        "link_numbers": LINK_NUMBERS,
        "same_numbers": SAME_NUMBERS,
        "conditions": sorted(v[2:] for v, n in used.items() if v.startswith("K ") and n >= 2),
        "actions": sorted(v[2:] for v, n in used.items() if v.startswith("A ") and n >= 2),
        "narrations": made,
    }


def _fold(fold: Sequence[Labelled], rest: Sequence[Labelled], words: Vocabulary) -> list[dict[str, Any]]:
    """The examples of some narrations, with linear models trained on the others."""
    meanings = Meanings(words)
    ready = replace(words, joiner=train(with_pieces(rest), words), weighed={})
    made = []
    for labelled in fold:
        for told in _tellings(labelled):
            draft = run_stages((Word(text=w) for w in told.words), words, READING)
            made.append(example(told, draft, ready, meanings))
    return made


def _tellings(labelled: Labelled) -> Iterator[Labelled]:
    """A narration with its punctuation and without, and its pieces, each in one of these ways."""
    if len(labelled.words) <= LONGEST:
        yield _either(labelled)
    else:
        yield labelled
        if is_punctuated(labelled.words):
            yield unpunctuated(labelled)
    yield from map(_either, pieces_of(labelled))


def _either(piece: Labelled) -> Labelled:
    """Every other one without punctuation, drawn by its words."""
    return piece if random.Random(" ".join(piece.words)).random() < 0.5 else unpunctuated(piece)


def unpunctuated(labelled: Labelled) -> Labelled:
    """The same with four fifths of its punctuation gone and in lower case, as a recogniser often gives it."""
    chance = random.Random(labelled.name)
    bare = (w.lower().rstrip(".,;:!?") if chance.random() < DROPPED else w for w in labelled.words)
    return replace(labelled, words=tuple(w or "." for w in bare))


def example(labelled: Labelled, draft: Draft, ready: Vocabulary, meanings: Meanings) -> dict[str, Any]:
    """One narration: its stretches by word, its heads and dependents, and the pairs with their answers."""
    keys = [_key(marked, labelled, meanings) for marked in labelled.stretches]
    by_word = tokens_by_word(draft)
    stretches = []
    for marked, key in zip(labelled.stretches, keys, strict=True):
        places = [place for n in range(marked.first, marked.last + 1) for place in by_word.get(n, ())]
        if places:
            stretches.append(Stretch(marked.kind, places[0], places[-1], 1.0, key))
    scene = Scene(add_stretches(draft, stretches, ready.cue_words["placing"]), ready)
    spans = [*(_span(scene, family_of(h), h) for h in scene.heads), *(_span(scene, f, d) for f, d in scene.dependents)]
    heads = [numbers_of(labelled, draft, h.first, h.last, "CI") for h in scene.heads]
    return {
        "name": labelled.name,
        "words": labelled.words,
        "stretches": [
            (m.kind, m.first, m.last, f"{m.kind} {key}" if key else "")
            for m, key in zip(labelled.stretches, keys, strict=True)
        ],
        "spans": spans,
        "heads": len(scene.heads),
        "links": _links(scene, labelled, heads, meanings),
        "same": _same(scene, heads),
        "groups": _groups(scene, labelled, heads, meanings),
    }


def _key(marked: Marked, labelled: Labelled, meanings: Meanings) -> str | None:
    if marked.kind not in "KA":
        return None
    family, column = ("condition", 3) if marked.kind == "K" else ("action", 4)
    values = [marked.value, *(labelled.rows[n][column] for n in sorted(marked.numbers) if n in labelled.rows)]
    return next((found for value in values if value and (found := meanings.of(family, value))), None)


def _span(scene: Scene, family: str, item: Mention | Amount) -> tuple[int, int, int]:
    tokens = scene.draft.tokens
    return FAMILIES.index(family), tokens[item.first].first_word, tokens[item.last].last_word


def _belongs(
    labelled: Labelled, scene: Scene, family: str, item: Mention | Amount, meanings: Meanings
) -> frozenset[int]:
    """The findings of which a stretch says what its family says."""
    mine = numbers_of(labelled, scene.draft, item.first, item.last)
    fitting = numbers_of(labelled, scene.draft, item.first, item.last, FITS[family])
    if family in ("condition", "action") and isinstance(item, Mention):
        column = 3 if family == "condition" else 4
        told = {
            n
            for n in mine
            for value in labelled.rows[n][column].split(",")
            if value.strip() and meanings.of(family, value.strip()) == item.key
        }
        return fitting | told
    return fitting


def _links(
    scene: Scene, labelled: Labelled, heads: list[frozenset[int]], meanings: Meanings
) -> list[tuple[int, int, int, list[float]]]:
    rows = []
    totals = [{number: total for total, number in some} for some in linear_totals(scene)]
    for at, (family, item) in enumerate(scene.dependents):
        mine = _belongs(labelled, scene, family, item, meanings)
        for number in link_pairs(scene, item):
            numbers = [round(x, 2) for x in link_numbers(scene, number, family, item, totals[at].get(number))]
            rows.append((number, len(scene.heads) + at, int(bool(mine & heads[number])), numbers))
    return rows


def _same(scene: Scene, heads: list[frozenset[int]]) -> list[tuple[int, int, int, list[float]]]:
    rows = []
    weights = scene.vocabulary.joiner.same
    for later in range(len(heads)):
        for earlier in same_pairs(scene, later):
            known = weights.get("bias", 0.0) + weigh(weights, same_features(scene, earlier, later))
            numbers = [round(x, 2) for x in same_numbers(scene, earlier, later, known)]
            rows.append((earlier, later, int(bool(heads[earlier] & heads[later])), numbers))
    return rows


def _groups(
    scene: Scene, labelled: Labelled, heads: list[frozenset[int]], meanings: Meanings
) -> list[tuple[list[int], list[int], int, list[float]]]:
    """(heads, dependents, status, what the linear model sums up for each status) of findings and of what makes none."""
    rows = []
    belongs = [_belongs(labelled, scene, family, item, meanings) for family, item in scene.dependents]
    members: dict[int, list[int]] = {}
    for number, mine in enumerate(heads):
        for finding in mine:
            members.setdefault(finding, []).append(number)
    for finding, numbers in sorted(members.items()):
        mine = [at for at, found in enumerate(belongs) if finding in found]
        rows.append(_group(scene, numbers, mine, labelled.status[finding]))
    linked = linked_by_head(Scene(join(scene.draft, scene.vocabulary), scene.vocabulary))
    for number, mine in enumerate(heads):
        if not mine and scene.heads[number].family == "component":
            said = {item.id for _, item, _ in linked.get(scene.heads[number].id, ())}
            rows.append(
                _group(scene, [number], [at for at, (_, i) in enumerate(scene.dependents) if i.id in said], "none")
            )
    return rows


def _group(
    scene: Scene, numbers: list[int], mine: Iterable[int], status: str
) -> tuple[list[int], list[int], int, list[float]]:
    mine = list(mine)
    dependents = [(*scene.dependents[at], 1.0) for at in mine]
    totals = class_totals(
        scene.vocabulary.joiner.status, status_features(scene, [scene.heads[n] for n in numbers], dependents)
    )
    known = [round(total / SCALE, 2) for total in status_sums(totals, STATUSES)]
    return numbers, [len(scene.heads) + at for at in mine], STATUSES.index(status), known


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--folder", type=click.Path(path_type=Path, exists=True), default=Path(__file__).parent / "training")
def main(out: Path, folder: Path) -> None:
    """Prepare all labelled narrations, typed and heard, and write them as compressed JSON."""
    narrations = [read_labelled(path) for path in sorted(folder.rglob("*.txt"))]
    words = vocabulary(load_lexicon(), Joiner({}, {}, Classes((), {})))
    with lzma.open(out, "wt", preset=9, encoding="utf-8") as file:
        json.dump(prepare(narrations, words), file)


if __name__ == "__main__":
    main()
