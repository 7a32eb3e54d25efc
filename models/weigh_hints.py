"""Count how often parts are called what in the training narrations, and how easily each name is mis-heard.

    python models/weigh_hints.py [--folder models/training] [--out lexicon/often.toml]

`count` is in how many labelled stretches a name was said of its part; `confusable` is how alike (0 to 1) the
most mistakable of its words sounds to an everyday word that is not itself. narrate chooses from them what to listen
for in a second hearing (narrate/words/hints.py).
"""

import sys
from collections import Counter
from pathlib import Path

import click
from rapidfuzz import fuzz, process

sys.path.insert(0, str(Path(__file__).parents[1]))

from labelled import read_labelled

from narrate.score.names import name_key
from narrate.words.load import load_lexicon
from narrate.words.phrases import phrase_words
from narrate.words.sounds import alike, load_speller

HERE = Path(__file__).parent
FEWEST = 4
"""Names said less often are left out."""
NEAREST = 30
"""Everyday words compared closely with each word."""
HEADER = """\
# What parts are called and how often, most often first: made by models/weigh_hints.py from models/training, with
# how easily a name is taken for everyday words (0 to 1). Chooses what to listen for in a second hearing.
schema = "narrate.lexicon/1"

[often]
"""


def confusable(word: str, everyday: dict[str, str], sounds: str) -> float:
    """How alike a word sounds to the everyday word most like it."""
    others = {other: said for other, said in everyday.items() if other != word}
    near = process.extract(sounds, others, scorer=fuzz.ratio, limit=NEAREST, processor=None)
    return max((alike(sounds, said) for said, _, _ in near), default=0.0)


def written(name: str) -> str:
    """A name as a recogniser writes it: letters that are named one by one are capitals."""
    return " ".join(w.upper() if w.isalpha() and not set(w) & set("aeiouy") else w for w in name.split())


@click.command()
@click.option("--folder", type=click.Path(path_type=Path, exists=True), default=HERE / "training")
@click.option("--out", type=click.Path(path_type=Path), default=HERE.parent / "lexicon" / "often.toml")
def main(folder: Path, out: Path) -> None:
    """Write the table."""
    lexicon, speller = load_lexicon(), load_speller()
    meant: dict[tuple[str, ...], set[str]] = {}
    for phrase in lexicon.phrases():
        if phrase.family == "component" and phrase.how in ("name", "alias", "plural"):
            meant.setdefault(phrase.words, set()).add(phrase.id)
    ids = {name_key(name): key for key, entry in lexicon.components.items() for name in (*entry.aliases, entry.name)}
    counts: Counter[tuple[str, str]] = Counter()
    for path in (*sorted(folder.glob("*.txt")), *sorted((folder / "short").glob("*.txt"))):
        labelled = read_labelled(path)
        for mark in labelled.stretches:
            said = " ".join(labelled.words[mark.first : mark.last + 1]).strip(".,;:!?\"'").lower()
            component = ids.get(name_key(mark.value)) if mark.kind == "C" else None
            if component and component in meant.get(phrase_words(said, lexicon.spelling), ()):
                counts[said, component] += 1
    plain = {word: speller.sounds(word) for word in sorted(lexicon.everyday) if word.isalpha() and len(word) > 2}
    once: dict[str, float] = {}
    lines = []
    for (said, component), count in sorted(counts.items(), key=lambda item: (-item[1], item[0])):
        words = [word for word in phrase_words(said, lexicon.spelling) if word.isalpha()]
        if count < FEWEST or not words:
            continue
        for word in words:
            if word not in once:
                once[word] = confusable(word, plain, speller.sounds(word))
        most = max(once[word] for word in words)
        lines.append(f'"{written(said)}" = {{ component = "{component}", count = {count}, confusable = {most:.2f} }}')
    seen: set[str] = set()
    # A name of two parts stands for the one it is said of most.
    kept = [line for line in lines if not (line.split('"')[1] in seen or seen.add(line.split('"')[1]))]
    out.write_text(HEADER + "\n".join(kept) + "\n", "utf-8")
    click.echo(f"{len(kept)} names")


if __name__ == "__main__":
    main()
