"""Narrations heard in shop noise: how well the words, the parts and the findings come through.

    python tests/benchmarks/noise.py speak CASES… --clean FOLDER
    python tests/benchmarks/noise.py hear --clean FOLDER --heard FILE.jsonl [--device cuda] [--jobs 2]
    python tests/benchmarks/noise.py score CASES… --heard FILE.jsonl

`speak` has every narration spoken by four voices, without noise. `hear` mixes noise in and writes what was heard,
a line a hearing; those of an earlier run are kept. `score` finds findings in it and writes results/noise.json: totals
only. Three questions are asked: each voice clean and at 10 dB of a compressor; each noise at 20, 10, 5 and 0 dB, with
hints and without; and what cleaning the sound first does. For the last two the voices take turns, and every fourteenth
narration is used.
"""

import json
import multiprocessing
import sys
import tempfile
import time
import zlib
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import click
import numpy as np
from numpy.typing import NDArray

sys.path.append(str(Path(__file__).parents[2] / "sample_audio"))

from audio_files import write_audio
from shop_noise import RATE, mix, mix_in, prevent_clipping

CHECKOUT = Path(__file__).parents[2]
VOICES = ("joe", "slt", "awb", "rms")
KINDS = ("compressor", "wrench", "fan", "radio")
LEVELS_DB = (20.0, 10.0, 5.0, 0.0)
CLEANING = ("high-pass", "subtract")
RADIO_CLIPS = CHECKOUT / "tests" / "data" / "speech_short"
RADIO_BAND_HZ = (300, 4000)
"""What a small loudspeaker gives."""
HIGH_PASS_HZ = 120
SUBTRACTED, LEFT = 1.5, 0.1
"""Spectral subtraction (Boll, IEEE ASSP 27, 1979): how much of the noise is taken off, and what stays at least."""
FRAME, STEP = 512, 128


@dataclass(frozen=True)
class Way:
    """One way of hearing a narration."""

    question: str
    name: str
    voice: str
    noise: str | None = None
    snr_db: float | None = None
    hints: bool = True
    cleaning: str | None = None

    @property
    def condition(self) -> str:
        """What the tables name it."""
        sound = f"{self.noise} {self.snr_db:g} dB" if self.noise else "clean"
        return f"{sound}, {self.cleaning}" if self.cleaning else sound


def plan(names: list[str]) -> Iterator[Way]:
    """Everything to be heard, the first question first."""
    for name in names:
        for voice in VOICES:
            yield Way("voices", name, voice)
            yield Way("voices", name, voice, "compressor", 10.0)
    turns = [(name, VOICES[number % len(VOICES)]) for number, name in enumerate(names[::14])]
    for name, voice in turns:
        for hints in (True, False):
            yield Way("noises", name, voice, hints=hints)
            for kind in KINDS:
                for level in LEVELS_DB:
                    yield Way("noises", name, voice, kind, level, hints)
    for name, voice in turns:
        for cleaning in CLEANING:
            yield Way("cleaning", name, voice, cleaning=cleaning)
            for kind in ("compressor", "fan"):
                for level in (10.0, 5.0):
                    yield Way("cleaning", name, voice, kind, level, True, cleaning)


def noisy(way: Way, clean: Path) -> NDArray[np.int16]:
    """The narration in its noise, cleaned if asked."""
    signal = read_sound(clean / way.voice / f"{way.name}.ogg")
    rng = np.random.default_rng(zlib.crc32(f"{way.name} {way.noise}".encode()))
    if way.noise == "radio":
        signal = mix_in(signal, radio(signal.size, rng), way.snr_db or 0.0)
    elif way.noise:
        signal = mix(signal, way.noise, way.snr_db, rng)
    if way.cleaning == "high-pass":
        signal = band(signal, HIGH_PASS_HZ, RATE / 2)
    elif way.cleaning == "subtract":
        signal = subtract(signal)
    return np.rint(prevent_clipping(signal) * 32767).astype(np.int16)


def read_sound(path: Path) -> NDArray[np.float64]:
    """Samples of a recording, full scale = 1."""
    from narrate.hear.audio import decode

    return decode(path, min_duration_s=0.1, max_duration_s=3600.0).samples.astype(np.float64)


def radio(count: int, rng: np.random.Generator) -> NDArray[np.float64]:
    """People talking from a small loudspeaker: the clips of tests/data/speech_short, over and over."""
    paths = sorted(path for path in RADIO_CLIPS.iterdir() if path.suffix in (".wav", ".flac"))
    talk = band(np.concatenate([read_sound(path) for path in paths]), *RADIO_BAND_HZ)
    talk = np.roll(talk, int(rng.integers(talk.size)))
    return np.resize(talk, count)


def band(signal: NDArray[np.float64], low_hz: float, high_hz: float) -> NDArray[np.float64]:
    """What of a sound lies between two frequencies."""
    spectrum = np.fft.rfft(signal)
    hz = np.fft.rfftfreq(signal.size, 1 / RATE)
    spectrum[(hz < low_hz) | (hz > high_hz)] = 0
    return np.fft.irfft(spectrum, signal.size)


def subtract(signal: NDArray[np.float64]) -> NDArray[np.float64]:
    """Take the spectrum of the quietest tenth of frames off every frame."""
    window = np.hanning(FRAME + 1)[:-1]
    frames = np.lib.stride_tricks.sliding_window_view(np.pad(signal, FRAME), FRAME)[::STEP] * window
    spectra = np.fft.rfft(frames)
    size = np.abs(spectra)
    energy = (size**2).sum(axis=1)
    noise = size[energy <= np.quantile(energy, 0.1)].mean(axis=0)
    kept = np.maximum(size - SUBTRACTED * noise, LEFT * size) / np.maximum(size, 1e-12)
    back = np.fft.irfft(spectra * kept) * window
    out, weight = np.zeros(signal.size + 3 * FRAME), np.full(signal.size + 3 * FRAME, 1e-9)
    for number, frame in enumerate(back):
        out[number * STEP : number * STEP + FRAME] += frame
        weight[number * STEP : number * STEP + FRAME] += window**2
    return (out / weight)[FRAME : FRAME + signal.size]


def hear_one(task: tuple[Way, Path, str]) -> dict[str, Any]:
    """Mix and hear; what was heard as a narrate recording, and the seconds it took."""
    from narrate.hear.recognise import hear
    from narrate.hear.whisper_engine import load_engine
    from narrate.settings import Settings
    from narrate.words.load import load_lexicon

    way, clean, device = task
    settings = Settings(device=device, hints=way.hints, threads=1)  # type: ignore[arg-type]
    load_engine(settings)
    with tempfile.TemporaryDirectory() as folder:
        sound = Path(folder, f"{way.name}.wav")
        write_audio(sound, noisy(way, clean))
        start = time.perf_counter()
        recording = hear(sound, settings=settings, hints=load_lexicon().hints)
    return {**asdict(way), "seconds": time.perf_counter() - start, "heard": recording.model_dump(mode="json")}


def score_all(cases: dict[str, Any], hearings: list[dict[str, Any]]) -> dict[str, dict[str, Any]]:
    """The figures of each condition of each question."""
    from narrate.pipeline import process_words
    from narrate.records.recording import Recording
    from narrate.score.place import names_of
    from narrate.score.run import score_cases
    from narrate.settings import Settings
    from narrate.words.load import load_lexicon

    lexicon = load_lexicon()
    names = names_of(lexicon)
    groups: dict[str, dict[str, Recording]] = {}
    for row in hearings:
        way = Way(**{key: row[key] for key in Way.__dataclass_fields__})
        who = f"{way.voice}, " if way.question == "voices" else ""
        key = f"{way.question}: {who}{way.condition}{'' if way.hints else ', no hints'}"
        groups.setdefault(key, {})[way.name] = Recording.model_validate(row["heard"])
    figures: dict[str, dict[str, Any]] = {}
    for key, heard in groups.items():

        def find(case: Any, heard: dict[str, Recording] = heard) -> Any:
            settings = Settings(market=case.market, drive_side=case.drive_side)
            return process_words([heard[case.id]], settings=settings, lexicon=lexicon)

        score = score_cases([cases[name] for name in heard], find=find, names=names, audio=True)
        assert score.words is not None
        figures[key] = {
            "narrations": len(heard),
            "word error rate": ratio(score.words.errors),
            "part names heard": ratio(score.words.part_names),
            "component F1": rounded(score.counts["component"].f1),
            "whole F1": rounded(score.counts["whole"].f1),
            "warned": round(sum(warned(one) for one in heard.values()) / len(heard), 2),
        }
        click.echo(f"{key}: {figures[key]}", err=True)
    return figures


def ratio(share: Any) -> float:
    """A share as a number."""
    return round(share.part / max(share.of, 1), 3)


def rounded(value: float | None) -> float:
    """Three digits; nothing found counts as none right."""
    return round(value or 0.0, 3)


def warned(recording: Any) -> bool:
    """Whether the technician is told that the sound is poor: in all, or stretch by stretch."""
    signs = ("noisy", "Hard to hear", "noise covered it")
    return any(sign in notice for notice in recording.notices for sign in signs)


@click.group()
def main() -> None:
    """Speak, hear and score narrations in noise."""


@main.command("speak")
@click.argument("folders", nargs=-1, required=True, type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option("--clean", required=True, type=click.Path(file_okay=False, path_type=Path))
def speak_all(folders: tuple[Path, ...], clean: Path) -> None:
    """Have the narrations spoken by each voice; what is there is kept."""
    from speak import read_text, speak

    paths = [path for folder in folders for path in sorted(folder.glob("*.toml"))]
    for voice in VOICES:
        (clean / voice).mkdir(parents=True, exist_ok=True)
        for number, path in enumerate(paths):
            target = clean / voice / f"{path.stem}.ogg"
            if not target.is_file():
                write_audio(target, speak(read_text(path), voice=voice, seed=100 + number))


@main.command("hear")
@click.option("--clean", required=True, type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option("--heard", required=True, type=click.Path(dir_okay=False, path_type=Path))
@click.option("--device", default="cpu", show_default=True)
@click.option("--jobs", default=2, show_default=True, help="Processes at once.")
@click.option("--within", "limit_s", type=float, help="Begin nothing after so many seconds.")
def hear_all(clean: Path, heard: Path, device: str, jobs: int, limit_s: float | None) -> None:
    """Hear everything that was not heard before."""
    start = time.perf_counter()
    lines = heard.read_text("utf-8").splitlines() if heard.is_file() else []
    done = {Way(**{key: row[key] for key in Way.__dataclass_fields__}) for row in map(json.loads, lines)}
    names = sorted(path.stem for path in (clean / VOICES[0]).glob("*.ogg"))
    ways = [way for way in plan(names) if way not in done]
    seconds = 0.0
    with heard.open("a", encoding="utf-8") as out, multiprocessing.get_context("spawn").Pool(jobs) as pool:
        for number, row in enumerate(pool.imap(hear_one, [(way, clean, device) for way in ways]), 1):
            out.write(json.dumps(row) + "\n")
            out.flush()
            seconds += row["heard"]["duration_s"]
            took_s = time.perf_counter() - start
            if number % 20 == 0:
                click.echo(f"{number} of {len(ways)}, {seconds / took_s:.0f} times real time", err=True)
            if limit_s and took_s > limit_s:
                pool.terminate()
                break


@main.command("score")
@click.argument("folders", nargs=-1, required=True, type=click.Path(exists=True, file_okay=False, path_type=Path))
@click.option("--heard", required=True, type=click.Path(exists=True, dir_okay=False, path_type=Path))
def score(folders: tuple[Path, ...], heard: Path) -> None:
    """Find and score, and write results/noise.json."""
    from tables import table, write_result

    from narrate.score.cases import read_cases

    cases = {file.case.id: file for folder in folders for file in read_cases(folder)}
    figures = score_all(cases, [json.loads(line) for line in heard.read_text("utf-8").splitlines()])
    head = ("condition", *next(iter(figures.values())))
    click.echo(table(head, [[key, *values.values()] for key, values in figures.items()]))
    write_result("noise", {"figures": figures})


if __name__ == "__main__":
    main()
