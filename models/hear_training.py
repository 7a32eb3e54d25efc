"""Make training narrations as a recogniser hears them: speak, hear, and carry the labels over.

    python models/hear_training.py [--only abc] [--every 3] [--again] [--report]

Each chosen labelled narration of models/training/ is spoken by a voice of sample_audio/, some in a noisy shop, and
heard by narrate with its usual settings. Typed and heard words are aligned; a labelled stretch takes the heard words
that stand for its own. Writes models/training/heard/NAME.txt and leaves what is there alone; no sound is kept.
"""

import random
import re
import sys
import tempfile
import zlib
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import click
from rapidfuzz.fuzz import ratio

sys.path.extend(str(Path(__file__).parents[1] / part) for part in ("", "models", "sample_audio"))

from audio_files import write_audio
from labelled import MARK
from shop_noise import NOISES
from speak import speak
from voices import VoiceMissingError

from narrate.errors import NarrateError
from narrate.find.numbers import DENOMINATORS, DIGITS, EACH, POINTS, SCALES, TEENS, TENS
from narrate.hear.recognise import hear
from narrate.score.word_errors import count_word_errors
from narrate.settings import Settings
from narrate.words.load import load_lexicon

HERE = Path(__file__).parent
SLOW = "joe"
VOICES = ("slt", "awb", "en-gb", "en-us", SLOW)
NOISY_SHARE = 0.4
LOUDEST_DB, FAINTEST_DB = 15, 25  # speech over noise
GAP = 0.6
"""Cost of a word left out or put in; two unlike words cost 1, so they are taken for one another."""
JOINED = 0.15
"""Cost of two words heard as one, or one as two, beside what they differ by."""
ALIKE = 0.65
"""Least likeness at which words are taken as parted or run together."""
RECOGNISABLE = 0.4
"""Below this a stretch is not heard: chance put other words where it stood."""
NUMBERS = 0.7
"""Likeness of two numbers written differently: `eighty` and the `88,206` that it begins."""
TOKEN = re.compile(r"\d+(?:[.,/:]\d+)*|['’][^\W\d_]+|[^\W\d_]+|[$£€%°]")
COUNTED = frozenset((*DIGITS, *TEENS, *TENS, *EACH, *DENOMINATORS, *SCALES, *POINTS, "hundred"))
VALUES = {word: str(value) for word, value in {**DIGITS, **TEENS, **TENS}.items()}
SAME_SOUND = str.maketrans("ckqzyvd", "kkksift")


@dataclass(frozen=True)
class Mark:
    """A label as written: kind, numbers of findings, value, and the words under it."""

    kind: str
    numbers: tuple[int, ...]
    value: str
    tokens: range


@dataclass(frozen=True)
class Typed:
    """A labelled narration in the pieces that hearing changes one by one."""

    head: str
    text: str
    words: tuple[str, ...]
    marks: tuple[Mark, ...]
    rows: tuple[tuple[str, ...], ...]


def read_typed(path: Path) -> Typed:
    """Parse a labelled narration; the edge of a label parts words, so that no word has two labels."""
    head, body, foot = re.split(r"^---\s*$", path.read_text("utf-8"), maxsplit=2, flags=re.M)
    words: list[str] = []
    marks, at = [], 0
    for found in MARK.finditer(body):
        words += tokens_of(body[at : found.start()])
        first = len(words)
        words += tokens_of(found[1])
        numbers = tuple(int(n) for n in found[3].split(",") if n)
        marks.append(Mark(found[2], numbers, found[4] or "", range(first, len(words))))
        at = found.end()
    words += tokens_of(body[at:])
    rows = tuple(tuple(cell.strip() for cell in line.split("|")) for line in foot.strip().splitlines())
    return Typed(head.strip(), MARK.sub(r"\1", body).strip(), tuple(words), tuple(marks), rows)


def tokens_of(text: str) -> list[str]:
    """Comparable words: no case, no punctuation, `'s` by itself."""
    return [each[0].lower().replace("’", "'") for each in TOKEN.finditer(text)]


@cache
def likeness(one: str, other: str) -> float:
    """From 0 to 1: how much two words look or sound alike."""
    if one == other or VALUES.get(one, one) == VALUES.get(other, other):
        return 1.0
    if is_number(one) and is_number(other):
        return NUMBERS
    return max(ratio(one, other), 0.9 * ratio(_sound(one), _sound(other))) / 100


def is_number(word: str) -> bool:
    """Whether a word is a number or a part of one, spoken or written."""
    return word in COUNTED or (word[0].isdigit() and word[-1].isdigit())


def _sound(word: str) -> str:
    """The word with letters that sound alike made one, and vowels behind the first letter gone."""
    plain = word.replace("ph", "f").replace("gh", "").replace("wh", "w").translate(SAME_SOUND)
    return plain[:1] + re.sub(r"[aeiouh']", "", plain[1:])


def align(typed: Sequence[str], heard: Sequence[str]) -> list[range]:
    """For each typed word the heard words that stand for it, by the cheapest way from one text to the other."""
    best: list[list[tuple[float, int, int]]] = []
    for i in range(len(typed) + 1):
        row: list[tuple[float, int, int]] = []
        best.append(row)
        for j in range(len(heard) + 1):
            ways = [(0.0, 0, 0)] if i == j == 0 else []
            if i and j:
                ways.append((best[i - 1][j - 1][0] + 1 - likeness(typed[i - 1], heard[j - 1]), 1, 1))
            if i:
                ways.append((best[i - 1][j][0] + GAP, 1, 0))
            if j:
                ways.append((row[j - 1][0] + GAP, 0, 1))
            for back, over in ((2, 1), (1, 2)):
                if i >= back and j >= over:
                    if alike := _joined(typed[i - back : i], heard[j - over : j]):
                        ways.append((best[i - back][j - over][0] + JOINED + 1 - alike, back, over))
            row.append(min(ways, key=lambda way: way[0]))
    found = [range(0)] * len(typed)
    i, j = len(typed), len(heard)
    while i or j:
        _, back, over = best[i][j]
        for number in range(i - back, i):
            found[number] = range(j - over, j)
        i, j = i - back, j - over
    return found


def _joined(typed: Sequence[str], heard: Sequence[str]) -> float:
    """Likeness of words run together or parted; 0 where one word by itself is as like, or with numbers."""
    if any(map(is_number, (*typed, *heard))):
        return 0.0
    alike = likeness("".join(typed), "".join(heard))
    alone = max(likeness(one, other) for one in typed for other in heard)
    return alike if alike >= max(ALIKE, alone) else 0.0


def carry(typed: Typed, said: str) -> list[tuple[Mark, int, int]]:
    """The labels on the heard text, each with where it begins and ends there, in order."""
    found = list(TOKEN.finditer(said))
    heard = tokens_of(said)
    places = align(typed.words, heard)
    owner: dict[int, Mark] = {}
    # Where two stretches were heard as one word, the part's name is worth more than what is said of it.
    for mark in sorted(typed.marks, key=lambda each: each.kind not in "CI"):
        mine = {n for t in mark.tokens for n in places[t] if n not in owner}
        if mine and _recognisable([typed.words[t] for t in mark.tokens], [heard[n] for n in sorted(mine)]):
            owner |= dict.fromkeys(mine, mark)
    carried = []
    for mark in dict.fromkeys(owner[n] for n in sorted(owner)):
        taken = [n for n, each in owner.items() if each is mark]
        first, last = min(taken), max(taken)
        while first and first - 1 not in owner and _one_word(said, found[first - 1], found[first]):
            first -= 1
            owner[first] = mark
        while last + 1 < len(found) and last + 1 not in owner and _one_word(said, found[last], found[last + 1]):
            last += 1
            owner[last] = mark
        carried.append((mark, found[first].start(), found[last].end()))
    return carried


def _recognisable(typed: Sequence[str], heard: Sequence[str]) -> bool:
    if any(map(is_number, typed)) and any(map(is_number, heard)):
        return True
    return likeness("".join(typed), "".join(heard)) >= RECOGNISABLE


def _one_word(said: str, one: re.Match[str], other: re.Match[str]) -> bool:
    """Whether two neighbours are one written word, as `$` and `38` are; `'s` stays outside a label."""
    return not re.search(r"\s", said[one.end() : other.start()]) and other[0][0] not in "'’"


def labelled_text(typed: Typed, said: str, voice: str) -> str:
    """The file: heard text with its labels, and the rows of the findings whose part was heard."""
    carried = carry(typed, said)
    named = {number for mark, *_ in carried if mark.kind in "CI" for number in mark.numbers}
    kept: list[Mark] = []
    body, at = "", 0
    for mark, first, end in carried:
        numbers = tuple(n for n in mark.numbers if n in named)
        if mark.numbers and not numbers:
            continue
        label = f"{mark.kind}{','.join(map(str, numbers))} {mark.value}".strip()
        body += f"{said[at:first]}[{said[first:end]}]{{{label}}}"
        at = end
        kept.append(Mark(mark.kind, numbers, mark.value, mark.tokens))
    body += said[at:]
    rows = [" | ".join(_row(row, kept)).strip() for row in typed.rows if int(row[0]) in named]
    head = re.sub(r"^(style:.*?)\s*$", r"\1, heard", typed.head, count=1, flags=re.M)
    return "\n".join((head, f"voice: {voice}", "---", body, "---", *rows)) + "\n"


def _row(row: Sequence[str], kept: Iterable[Mark]) -> tuple[str, ...]:
    """A row without conditions, actions and amounts of which no word was heard."""
    cells = [*row, *[""] * (7 - len(row))]
    said = {(mark.kind, mark.value) for mark in kept if int(row[0]) in mark.numbers}
    for column, kind in ((4, "K"), (5, "A"), (6, "M")):
        each = [value.strip() for value in cells[column].split(",")]
        cells[column] = ", ".join(value for value in each if (kind, value.split("@")[0].strip()) in said)
    return tuple(cells)


def hear_spoken(text: str, name: str, voice: str, hints: tuple[str, ...]) -> tuple[str, str]:
    """Speak and hear a text; return what was heard, and the voice with its noise in words."""
    chance = random.Random(name)
    noise = chance.choice(sorted(NOISES)) if chance.random() < NOISY_SHARE else None
    snr_db = float(chance.randint(LOUDEST_DB, FAINTEST_DB)) if noise else None
    samples = speak(text, voice=voice, noise=noise, snr_db=snr_db, seed=zlib.crc32(name.encode()))
    with tempfile.TemporaryDirectory() as folder:
        # By way of a lossy file, as a recording comes.
        sound = Path(folder, f"{name}.ogg")
        write_audio(sound, samples)
        recording = hear(sound, settings=Settings(), hints=hints)
    said = " ".join(re.sub(r"[\[\]{}]", "", word.text) for word in recording.words)
    return said, f"{voice}, {noise} {snr_db:.0f} dB" if noise else voice


def heard_before(path: Path) -> tuple[str, str]:
    """What `hear_spoken` returned when the file was made."""
    return (old := read_typed(path)).text, old.head.rpartition("voice:")[2].strip()


def report(folder: Path, out: Path) -> str:
    """Words wrong of the words said, and labelled stretches lost, by voice and in all."""
    sums: dict[str, list[int]] = defaultdict(lambda: [0] * 5)
    for path in sorted(out.glob("*.txt")):
        typed, heard = read_typed(folder / path.name), read_typed(path)
        errors = count_word_errors(typed.text, heard.text)
        lost = len(typed.marks) - len(heard.marks)
        voice, _, noise = heard_before(path)[1].partition(", ")
        for key in (voice, "noisy" if noise else "quiet", "all"):
            added = (1, errors.part, errors.of, lost, len(typed.marks))
            sums[key] = [a + b for a, b in zip(sums[key], added, strict=True)]
    lines = [
        f"{voice:8}{n:5} heard, {wrong / words:6.1%} of {words} words wrong, {lost / marks:6.1%} of {marks} labels lost"
        for voice, (n, wrong, words, lost, marks) in sorted(sums.items())
    ]
    return "\n".join(lines)


@click.command()
@click.option("--folder", type=click.Path(path_type=Path, exists=True, file_okay=False), default=HERE / "training")
@click.option("--only", default="", help="Only files that begin with one of these letters.")
@click.option("--every", type=click.IntRange(min=1), default=1, help="One file in so many.")
@click.option("--report", "reporting", is_flag=True, help="Hear nothing; say how well what is there was heard.")
@click.option("--again", is_flag=True, help="Hear nothing; carry the labels over anew onto what was heard.")
def main(folder: Path, only: str, every: int, reporting: bool, again: bool) -> None:
    """Hear the labelled narrations of a folder into its folder `heard`."""
    out = folder / "heard"
    if reporting:
        click.echo(report(folder, out))
        return
    out.mkdir(exist_ok=True)
    hints = load_lexicon().hints
    voiced = [(path, VOICES[n % len(VOICES)]) for n, path in enumerate(sorted(folder.glob("*.txt")))]
    chosen = [(path, voice) for path, voice in voiced if not only or path.stem[0] in only][::every]
    # The slow voice last, and the letters in turn, so that what is done early holds something of each style.
    chosen.sort(key=lambda each: (each[1] == SLOW, each[0].stem[1:], each[0].stem[0]))
    for path, voice in chosen:
        target = out / path.name
        if target.exists() is not again:
            continue
        typed = read_typed(path)
        try:
            hearing = heard_before(target) if again else hear_spoken(typed.text, path.stem, voice, hints)
        except (VoiceMissingError, NarrateError, RuntimeError) as error:
            raise click.ClickException(str(error)) from None
        unfinished = target.with_suffix(".part")
        unfinished.write_text(labelled_text(typed, *hearing), "utf-8")
        unfinished.replace(target)
        click.echo(f"{target}: {hearing[1]}", err=True)


if __name__ == "__main__":
    main()
