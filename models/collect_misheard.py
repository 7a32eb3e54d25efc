"""Collect part names as a recogniser mis-hears them, from spoken training texts.

    python models/collect_misheard.py OUT.json --texts 'models/training/zc*.txt' --voices rms,kal16

Each text is spoken by one of the voices, three in five in shop noise of 10 to 25 dB, and heard by the named models
with narrate's usual hints, or without. Typed and heard words are aligned (hear_training.py). What is written of each
hearing: who spoke, the words with their probabilities, and its mis-heard parts: labelled parts of which something
recognisable was heard, but no name that the lexicon knows, with the words that stand for them.
"""

import json
import random
import sys
import tempfile
import zlib
from pathlib import Path
from typing import Any

import click

sys.path.extend(str(Path(__file__).parents[1] / part) for part in ("", "models", "sample_audio"))

from audio_files import write_audio
from hear_training import Typed, align, likeness, read_typed, tokens_of
from shop_noise import NOISES
from speak import speak

from narrate.hear.recognise import hear
from narrate.records.recording import Word
from narrate.score.names import name_key, name_keys, spoken_at
from narrate.score.place import names_of
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.words.phrases import phrase_words

CHECKOUT = Path(__file__).parents[1]
NOISY_SHARE = 0.6
LOUDEST_DB, FAINTEST_DB = 10, 25
RECOGNISABLE = 0.5
"""Likeness of letters below which chance put other words where a part was named."""


def rows_of(typed: Typed, words: tuple[Word, ...], lexicon: Lexicon, ids: dict[str, str]) -> list[dict[str, Any]]:
    """The mis-heard parts of one text."""
    heard, owners = [], []
    for number, word in enumerate(words):
        pieces = tokens_of(word.text)
        heard += pieces
        owners += [number] * len(pieces)
    places = align(typed.words, heard)
    names = names_of(lexicon)
    rows = []
    for mark in typed.marks:
        component = ids.get(name_key(mark.value))
        mine = sorted({n for t in mark.tokens for n in places[t]})
        if mark.kind != "C" or component is None or not mine:
            continue
        first, last = owners[mine[0]], owners[mine[-1]]
        said = " ".join(typed.words[t] for t in mark.tokens)
        told = {component, lexicon.components[component].name} | names.of_component(component)
        if name_key(said) not in name_keys(told):
            continue  # called by another name: not what the ear got wrong
        unified = {" ".join(phrase_words(name, lexicon.spelling)) for name in told}
        texts = [word.text for word in words]
        spelled = [" ".join(phrase_words(text.strip(".,;:?!"), lexicon.spelling)) for text in texts]
        near = range(max(0, first - 2), min(len(texts), last + 3))
        if any(set(spoken) & set(near) for spoken in spoken_at({*told, *unified}, spelled)):
            continue
        like = likeness(said.replace(" ", ""), "".join(heard[n] for n in mine))
        if like < RECOGNISABLE:
            continue
        rows.append({"said": said, "component": component, "first": first, "last": last})
    return rows


def _count(hearings: list[dict[str, Any]]) -> int:
    return sum(len(hearing["parts"]) for hearing in hearings)


@click.command()
@click.argument("out", type=click.Path(path_type=Path))
@click.option("--texts", multiple=True, required=True, help="Pattern of labelled texts, from the checkout.")
@click.option("--voices", required=True, help="Names of voices, by commas.")
@click.option("--models", default="base,tiny.en", show_default=True)
@click.option("--hints/--no-hints", default=True, show_default=True)
@click.option("--count", type=int, default=200, show_default=True, help="How many of the texts.")
def main(out: Path, texts: tuple[str, ...], voices: str, models: str, hints: bool, count: int) -> None:
    """Speak, hear, align, and write what was mis-heard."""
    lexicon = load_lexicon()
    ids = {name_key(name): key for key, entry in lexicon.components.items() for name in (entry.name, *entry.aliases)}
    ids |= {name_key(entry.name): key for key, entry in lexicon.components.items()}
    paths = sorted(path for pattern in texts for path in CHECKOUT.glob(pattern))
    chosen = random.Random(1).sample(paths, min(count, len(paths)))
    hearings: list[dict[str, Any]] = []
    for number, path in enumerate(chosen):
        typed = read_typed(path)
        chance = random.Random(path.stem)
        noise = chance.choice(sorted(NOISES)) if chance.random() < NOISY_SHARE else None
        snr_db = float(chance.randint(LOUDEST_DB, FAINTEST_DB)) if noise else None
        voice = voices.split(",")[number % len(voices.split(","))]
        samples = speak(typed.text, voice=voice, noise=noise, snr_db=snr_db, seed=zlib.crc32(path.stem.encode()))
        with tempfile.TemporaryDirectory() as folder:
            sound = Path(folder, "spoken.ogg")
            write_audio(sound, samples)
            for model in models.split(","):
                words = hear(sound, settings=Settings(hints=hints), hints=lexicon.hints, model=model).words
                hearing = {"text": path.stem, "voice": voice, "noise": noise, "snr_db": snr_db, "model": model}
                kept = [[word.text, word.probability and round(word.probability, 3)] for word in words]
                hearings.append(hearing | {"parts": rows_of(typed, words, lexicon, ids), "words": kept})
        if number % 20 == 19:
            click.echo(f"{number + 1} of {len(chosen)}: {_count(hearings)} mis-heard", err=True)
    body = ",\n".join(json.dumps(row) for row in hearings)
    out.write_text(f"[\n{body}\n]\n", "utf-8")
    click.echo(f"{_count(hearings)} mis-heard parts in {len(chosen)} texts")


if __name__ == "__main__":
    main()
