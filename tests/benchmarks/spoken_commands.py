"""Spoken commands: how many are missed, and how often one is heard that nobody gave.

    python tests/benchmarks/spoken_commands.py texts CASES…
    python tests/benchmarks/spoken_commands.py speak CASES… --to FOLDER [--commands]
    python tests/benchmarks/spoken_commands.py hear FOLDER [--way whole|live] [--part 1/2]
    python tests/benchmarks/spoken_commands.py score FOLDER [--save NAME]

`texts` looks for commands in texts as if there were a pause between any two words: more than any speaker makes.
`speak` has narrations spoken, voices and noises in turn; with --commands one command stands behind every third
sentence, between pauses of 0.5 to 1.2 s. `hear` hears each as `narrate process` does (`whole`), or as the page does
while somebody speaks (`live`), and keeps the words in a file beside it. `score` counts commands missed, taken for
another, and heard where none was given, by the hour: for each way of hearing, and for both together, as a command that
either understood is carried out. It prints totals only.
"""

import json
import sys
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from functools import partial
from pathlib import Path
from typing import Any

import click
import numpy as np

sys.path.append(str(Path(__file__).parents[2] / "sample_audio"))

from audio_files import write_audio
from shop_noise import RATE, Signal, active_power, mix, prevent_clipping
from speak import SPEECH_LEVEL, split_phrases
from voices import engine_of

from narrate.find.commands import command_in, spoken_commands
from narrate.hear.audio import decode
from narrate.hear.growing import Growing
from narrate.pipeline import hear_recordings
from narrate.records.case import Case
from narrate.records.recording import Word
from narrate.score.cases import read_cases
from narrate.settings import Settings
from narrate.words.commands import spoken_phrases
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.work.live_serving import live_engine, live_hearing, second_engine

CHECKOUT = Path(__file__).parents[2]
VOICES = ("joe", "slt", "awb", "rms", "kal16", "en-us", "en-gb-x-rp", "en-us+f4")
NOISES: tuple[tuple[str | None, float | None], ...] = (
    (None, None), ("room", None), ("compressor", 15.0), (None, None), ("shop", 10.0), ("wrench", 10.0),
)  # fmt: skip
HEARINGS = ("whole", "live")
Found = tuple[str, float, float]
"""Command, start and end in seconds."""
EVERY = 3
"""A command behind every third sentence."""
NEAR_S = 1.5
"""How far a command may be heard from where it was given."""
SPEEDS = (0.95, 1.0, 1.05, 1.15)


@dataclass(frozen=True)
class Given:
    """A command that was spoken."""

    command: str
    said: str
    start_s: float
    end_s: float


@dataclass(frozen=True)
class Way:
    """How a narration is spoken."""

    voice: str
    noise: str | None
    snr_db: float | None


def ways() -> Iterator[Way]:
    """Voices and noises in turn, for ever; every voice meets every noise."""
    number = 0
    while True:
        noise, snr_db = NOISES[(number + number // len(VOICES)) % len(NOISES)]
        yield Way(VOICES[number % len(VOICES)], noise, snr_db)
        number += 1


def spoken(text: str, way: Way, seed: int, commands: Iterator[tuple[str, str]] | None) -> tuple[Signal, list[Given]]:
    """A narration as sound, and the commands in it."""
    rng = np.random.default_rng([seed, 7])
    phrases: list[tuple[str, str | None]] = []
    sentences = 0
    for phrase in split_phrases(text):
        phrases.append((phrase, None))
        sentences += phrase[-1] in ".?!"
        if commands and phrase[-1] in ".?!" and sentences % EVERY == 0:
            command, said = next(commands)
            phrases.append((said, command))
    speeds = [float(rng.choice(SPEEDS)) for _ in phrases]
    sounds = engine_of(way.voice)([said for said, _ in phrases], speeds)
    parts, given, at = [], [], 0
    for number, ((said, command), sound) in enumerate(zip(phrases, sounds, strict=True)):
        sound = trimmed(sound)
        around = command or (number + 1 < len(phrases) and phrases[number + 1][1])
        low, high = (0.5, 1.2) if around else (0.4, 1.2) if said[-1] in ".?!" else (0.15, 0.5)
        if command:
            given.append(Given(command, said, at / RATE, (at + sound.size) / RATE))
        silence = np.zeros(int(rng.uniform(low, high) * RATE))
        parts += [sound, silence]
        at += sound.size + silence.size
    signal = np.concatenate(parts)
    signal *= SPEECH_LEVEL / np.sqrt(active_power(signal))
    if way.noise:
        signal = mix(signal, way.noise, way.snr_db, np.random.default_rng([seed, 1]))
    return signal, given


def trimmed(sound: Signal) -> Signal:
    """Without the voice's own silence."""
    loud = np.flatnonzero(np.abs(sound) > 0.005 * np.abs(sound).max(initial=0.0))
    return sound[max(0, loud[0] - 320) : loud[-1] + 320] if loud.size else sound


def cases_in(paths: Sequence[Path]) -> list[Case]:
    """All cases of files and folders, those of one name and text once."""
    return list({file.case.said: file.case for path in paths for file in read_cases(path)}.values())


@click.group()
def main() -> None:
    """Measure spoken commands."""


@main.command()
@click.argument("cases", nargs=-1, type=click.Path(exists=True, path_type=Path))
def texts(cases: tuple[Path, ...]) -> None:
    """Count commands in texts, a pause between any two words."""
    lexicon = load_lexicon()
    words = found = addressed = 0
    for case in cases_in(cases):
        said = case.said.split()
        words += len(said)
        apart = [Word(text=text, start_s=float(n), end_s=n + 0.4) for n, text in enumerate(said)]
        found += len(spoken_commands(apart, lexicon))
        addressed += said.count(lexicon.commands.address if lexicon.commands else "")
    click.echo(f"{words} words ({words / 150 / 60:.1f} h at 150 a minute): {found} commands, {addressed} addresses")


@main.command()
@click.argument("cases", nargs=-1, type=click.Path(exists=True, path_type=Path))
@click.option("--to", "folder", required=True, type=click.Path(path_type=Path))
@click.option("--commands", is_flag=True)
@click.option("--times", default=1, help="How often each text is spoken, each time in another way.")
def speak(cases: tuple[Path, ...], folder: Path, commands: bool, times: int) -> None:
    """Speak narrations, with commands or without."""
    folder.mkdir(parents=True, exist_ok=True)
    phrases = list(spoken_phrases(load_lexicon()))
    told = iter(partial(next, _again(phrases)), None) if commands else None
    turns = ways()
    for number, case in enumerate(cases_in(cases) * times):
        way = next(turns)
        path = folder / f"{number:03}.ogg"
        if path.with_suffix(".given.json").exists() and not commands:
            continue
        signal, given = spoken(case.said, way, number, told)
        write_audio(path, np.rint(prevent_clipping(signal) * 32767).astype(np.int16))
        about = {"way": asdict(way), "duration_s": signal.size / RATE, "given": [asdict(g) for g in given]}
        path.with_suffix(".given.json").write_text(json.dumps(about), "utf-8")


def _again(phrases: Sequence[tuple[str, str]]) -> Iterator[tuple[str, str]]:
    while True:
        yield from phrases


@main.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.option("--way", type=click.Choice(HEARINGS), default="whole", show_default=True)
@click.option("--part", default="1/1", help="2/3: the second of three shares of the files.")
def hear(folder: Path, way: str, part: str) -> None:
    """Hear what was spoken, and keep the words."""
    which, shares = (int(each) for each in part.split("/"))
    lexicon, settings = load_lexicon(), Settings()
    engine, second = (live_engine(settings), second_engine(settings)) if way == "live" else (None, None)
    for path in sorted(folder.glob("*.ogg"))[which - 1 :: shares]:
        kept = path.with_suffix(f".{way}.json")
        if kept.exists():
            continue
        if engine is None:
            (recording,) = hear_recordings([path], settings=settings, lexicon=lexicon)
            phrases = [{"words": [word.model_dump() for word in recording.words]}]
        else:
            phrases = live_phrases(path, live_hearing(engine, settings, lexicon, second))
        kept.write_text(json.dumps(phrases), "utf-8")


def live_phrases(path: Path, hearing: Growing) -> list[dict[str, Any]]:
    """The finished phrases of a recording that comes in pieces of a tenth of a second."""
    samples = decode(path, min_duration_s=0.1, max_duration_s=3600).samples
    step = RATE // 10
    finished = []
    for at in range(0, samples.size, step):
        finished += hearing.feed(samples[at : at + step], at / RATE)
    finished += hearing.end()
    return [
        {"words": [w.model_dump() for w in p.words], "before_s": p.before_s, "after_s": p.after_s}
        for p in finished
        if p.final and p.words
    ]


def commands_heard(path: Path, lexicon: Lexicon) -> list[Found]:
    """The commands in the words kept in a file, found as the program does."""
    found = []
    for phrase in json.loads(path.read_text("utf-8")):
        words = [Word.model_validate(word) for word in phrase["words"]]
        whole = command_in(words, phrase["before_s"], phrase["after_s"], lexicon) if "before_s" in phrase else None
        spans = [(whole, 0, -1)] if whole else [(c.command, c.first, c.last) for c in spoken_commands(words, lexicon)]
        found += [(command, words[a].start_s or 0.0, words[b].end_s or 0.0) for command, a, b in spans]
    return found


@main.command()
@click.argument("folder", type=click.Path(exists=True, path_type=Path))
@click.option("--save", help="Name of the result under results/.")
@click.option("--show", is_flag=True, help="Show where commands were missed; not for the judge's texts.")
def score(folder: Path, save: str | None, show: bool) -> None:
    """Count what was missed and what nobody said."""
    lexicon = load_lexicon()
    results: dict[str, Any] = {"lexicon": lexicon.digest}
    for name, ways_heard in (("whole", ("whole",)), ("live", ("live",)), ("either", HEARINGS)):
        counts: Counter[str] = Counter()
        by: dict[str, Counter[str]] = {}
        seconds = 0.0
        for about_path in sorted(folder.glob("*.given.json")):
            kept = [about_path.with_name(about_path.name.replace(".given.", f".{way}.")) for way in ways_heard]
            if not all(path.exists() for path in kept):
                continue
            about = json.loads(about_path.read_text("utf-8"))
            seconds += about["duration_s"]
            found = once([f for path in kept for f in commands_heard(path, lexicon)])
            for command, outcome, at_s in compared([Given(**g) for g in about["given"]], found):
                counts[outcome] += 1
                for key in (about["way"]["voice"], str(about["way"]["noise"]), command):
                    by.setdefault(key, Counter())[outcome] += 1
                if show and outcome != "heard":
                    click.echo(f"{name}: {about_path.name} {command} {outcome} at {at_s:.1f} s", err=True)
        if seconds:
            results[name] = told(counts, by, seconds / 3600)
    click.echo(json.dumps(results, indent=1))
    if save:
        path = CHECKOUT / "tests" / "benchmarks" / "results" / f"{save}.json"
        path.write_text(json.dumps(results, indent=1) + "\n", "utf-8")


def told(counts: Counter[str], by: dict[str, Counter[str]], hours: float) -> dict[str, Any]:
    """Counts as shares and rates."""
    given = counts["heard"] + counts["missed"] + counts["another"]
    return {
        "hours": round(hours, 3), "given": given, "heard": counts["heard"], "missed": counts["missed"],
        "taken_for_another": counts["another"], "nobody's": counts["nobody's"],
        "missed_share": round(1 - counts["heard"] / given, 4) if given else None,
        "false_starts_an_hour": round(counts["nobody's"] / hours, 2),
        "by": {key: dict(each) for key, each in sorted(by.items())},
    }  # fmt: skip


def once(found: Sequence[Found]) -> list[Found]:
    """Commands without those that another way of hearing told too."""
    kept: list[Found] = []
    for each in found:
        if not any(each[0] == k[0] and each[1] < k[2] + NEAR_S and k[1] < each[2] + NEAR_S for k in kept):
            kept.append(each)
    return kept


def compared(given: Sequence[Given], found: list[Found]) -> Iterator[tuple[str, str, float]]:
    """(command, what became of it, when) of each given, and of each that nobody gave."""
    left = list(found)
    for one in given:
        near = [f for f in left if f[1] < one.end_s + NEAR_S and one.start_s - NEAR_S < f[2]]
        same = next((f for f in near if f[0] == one.command), None) or next(iter(near), None)
        if same:
            left.remove(same)
        outcome = "missed" if same is None else "heard" if same[0] == one.command else "another"
        yield one.command, outcome, one.start_s
    for command, start_s, _ in left:
        yield command, "nobody's", start_s


if __name__ == "__main__":
    main()
