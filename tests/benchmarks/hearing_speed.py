"""Real-time factor, processor time and peak memory of hearing, against plain faster-whisper.

    python tests/benchmarks/hearing_speed.py [FILE…] [--model base] [--runs 3]

Both hear the same file with the same model (int8, beam 5), each in a process of its own, in turn. Plain means
`WhisperModel(...).transcribe(file)` with faster-whisper's own defaults otherwise; narrate adds its hints, word times,
word probabilities, voice detection and second hearings, as `narrate process` does.
"""

import json
import statistics
import subprocess
import sys
import tempfile
import time
import wave
from collections.abc import Callable
from pathlib import Path
from typing import Any

import click
from tables import CHECKOUT, table, write_result

SPEECH = CHECKOUT / "tests" / "data" / "speech_short"
SAMPLES = CHECKOUT / "sample_audio"
ONE = "compact_brakes_tires"
FOUR = (ONE, "electric_car_service", "hatchback_annual_inspection", "minivan_comfort_body")
"""Together a little over six minutes."""
RATE = 16_000


def hear_by_narrate(file: Path, model: str) -> dict[str, float]:
    """Hear by narrate's own function; return seconds taken to load and to hear."""
    start = time.perf_counter()
    from narrate.hear.recognise import hear
    from narrate.hear.whisper_engine import load_engine
    from narrate.settings import Settings
    from narrate.words.load import load_lexicon

    hints = load_lexicon().hints
    settings = Settings(model=model)
    load_engine(settings)
    loaded, used_s = time.perf_counter(), user_s()
    recording = hear(file, settings=settings, hints=hints)
    return {
        "load_s": loaded - start,
        "hear_s": time.perf_counter() - loaded,
        "user_s": user_s() - used_s,
        "audio_s": recording.duration_s or 0.0,
        "words": len(recording.words),
    }


def hear_plainly(file: Path, model: str) -> dict[str, float]:
    """Hear by faster-whisper alone; `model` is a folder."""
    start = time.perf_counter()
    from faster_whisper import WhisperModel

    whisper = WhisperModel(model, device="cpu", compute_type="int8")
    loaded, used_s = time.perf_counter(), user_s()
    segments, information = whisper.transcribe(str(file), beam_size=5)
    words = sum(len(segment.text.split()) for segment in segments)
    return {
        "load_s": loaded - start,
        "hear_s": time.perf_counter() - loaded,
        "user_s": user_s() - used_s,
        "audio_s": information.duration,
        "words": words,
    }


WAYS: dict[str, Callable[[Path, str], dict[str, float]]] = {"narrate": hear_by_narrate, "plain": hear_plainly}


def user_s() -> float:
    """Seconds of processor time this process has used: other people's load hardly changes them."""
    import resource

    return resource.getrusage(resource.RUSAGE_SELF).ru_utime


def peak_bytes() -> int:
    """The most memory this process ever held."""
    import resource

    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most if sys.platform == "darwin" else most * 1024


def run_apart(way: str, file: Path, model: str) -> dict[str, float]:
    """One hearing in a process of its own."""
    command = [sys.executable, __file__, str(file), "--model", model, "--only", way]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        message = f"hearing by {way} failed: {done.stderr.strip().splitlines()[-1:]}"
        raise click.ClickException(message)
    measured: dict[str, float] = json.loads(done.stdout)
    return measured


def join(target: Path, clips: list[Path]) -> Path:
    """Write recordings one after the other as one file, half a second between them."""
    import numpy as np

    from narrate.hear.audio import decode

    parts = [decode(path, min_duration_s=0.1, max_duration_s=600.0).samples for path in clips]
    samples = np.concatenate([np.concatenate([part, np.zeros(RATE // 2, np.float32)]) for part in parts])
    with wave.open(str(target), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())
    return target


def usual_files(folder: Path) -> list[Path]:
    """Short, longer and long: human clips in a row twice over, one sample recording, four in a row."""
    clips = sorted(path for path in SPEECH.iterdir() if path.suffix in (".wav", ".flac"))
    return [
        join(folder / "speech_short_twice.wav", clips * 2),
        SAMPLES / f"{ONE}.ogg",
        join(folder / "four_samples.wav", [SAMPLES / f"{name}.ogg" for name in FOUR]),
    ]


def summary(way: str, runs: list[dict[str, float]]) -> dict[str, Any]:
    """Medians of the runs of one way."""
    factors = [run["hear_s"] / run["audio_s"] for run in runs]
    return {
        "way": way,
        "real_time_factor": round(statistics.median(factors), 3),
        "real_time_factors": [round(factor, 3) for factor in factors],
        "user_s": round(statistics.median(run["user_s"] for run in runs), 2),
        "load_s": round(statistics.median(run["load_s"] for run in runs), 2),
        "peak_mb": round(max(run["peak_bytes"] for run in runs) / 1e6),
        "words": int(runs[0]["words"]),
        "audio_s": round(runs[0]["audio_s"], 1),
    }


def compare(file: Path, model: str, runs: int) -> dict[str, Any]:
    """Hear in turn, so that a busy moment of the machine hits both."""
    from narrate.hear.weights import model_folder

    models = {"narrate": model, "plain": str(model_folder(model) or model)}
    measured: dict[str, list[dict[str, float]]] = {way: [] for way in WAYS}
    for number in range(runs):
        for way in WAYS:
            measured[way].append(run_apart(way, file, models[way]))
            click.echo(f"run {number + 1} of {runs}: {way} {measured[way][-1]['hear_s']:.1f} s", err=True)
    narrate, plain = (summary(way, measured[way]) for way in WAYS)
    return {
        "file": file.name,
        "model": model,
        "ways": [narrate, plain],
        **ratios("time", "hear_s", measured),
        **ratios("user_time", "user_s", measured),
        "memory_ratio": round(narrate["peak_mb"] / plain["peak_mb"], 3),
    }


def ratios(name: str, key: str, measured: dict[str, list[dict[str, float]]]) -> dict[str, Any]:
    """Narrate over plain, run by run, and the median."""
    pairs = zip(measured["narrate"], measured["plain"], strict=True)
    found = [round(ours[key] / theirs[key], 3) for ours, theirs in pairs]
    return {f"{name}_ratio": round(statistics.median(found), 3), f"{name}_ratios": found}


@click.command()
@click.argument("files", nargs=-1, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--model", default="base", show_default=True)
@click.option("--runs", default=3, show_default=True, type=click.IntRange(min=1))
@click.option("--only", type=click.Choice(list(WAYS)), hidden=True, help="Hear once in this process.")
def main(files: tuple[Path, ...], model: str, runs: int, only: str | None) -> None:
    """Measure hearing on FILES, else on the human clips of tests/data and on recordings of sample_audio."""
    if only:
        measured = WAYS[only](files[0], model)
        click.echo(json.dumps({**measured, "peak_bytes": peak_bytes()}))
        return
    with tempfile.TemporaryDirectory() as folder:
        results = [compare(file, model, runs) for file in files or usual_files(Path(folder))]
    head = ("file", "", "real-time factor", "user time, s", "load, s", "peak memory, MB", "words", "audio, s")
    keys = ("way", "real_time_factor", "user_s", "load_s", "peak_mb", "words", "audio_s")
    click.echo(table(head, [[each["file"], *(row[key] for key in keys)] for each in results for row in each["ways"]]))
    for each in results:
        click.echo(
            f"{each['file']}: narrate over plain: time {each['time_ratio']} ({each['time_ratios']}), "
            f"user time {each['user_time_ratio']} ({each['user_time_ratios']}), memory {each['memory_ratio']}"
        )
    click.echo(f"wrote {write_result('hearing_speed', {'files': results})}", err=True)


if __name__ == "__main__":
    main()
