"""Real-time factor and peak memory of hearing, against plain faster-whisper.

    python tests/benchmarks/hearing_speed.py [FILE] [--model base] [--runs 3]

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
    loaded = time.perf_counter()
    recording = hear(file, settings=settings, hints=hints)
    return {
        "load_s": loaded - start,
        "hear_s": time.perf_counter() - loaded,
        "audio_s": recording.duration_s or 0.0,
        "words": len(recording.words),
    }


def hear_plainly(file: Path, model: str) -> dict[str, float]:
    """Hear by faster-whisper alone; `model` is a folder."""
    start = time.perf_counter()
    from faster_whisper import WhisperModel

    whisper = WhisperModel(model, device="cpu", compute_type="int8")
    loaded = time.perf_counter()
    segments, information = whisper.transcribe(str(file), beam_size=5)
    words = sum(len(segment.text.split()) for segment in segments)
    return {
        "load_s": loaded - start,
        "hear_s": time.perf_counter() - loaded,
        "audio_s": information.duration,
        "words": words,
    }


WAYS: dict[str, Callable[[Path, str], dict[str, float]]] = {"narrate": hear_by_narrate, "plain": hear_plainly}


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


def join_clips(target: Path, times: int) -> None:
    """The human recordings of tests/data one after the other, as one file."""
    import numpy as np

    from narrate.hear.audio import decode

    clips = sorted(path for path in SPEECH.iterdir() if path.suffix in (".wav", ".flac"))
    parts = [decode(path, min_duration_s=0.1, max_duration_s=600.0).samples for path in clips] * times
    samples = np.concatenate([np.concatenate([part, np.zeros(RATE // 2, np.float32)]) for part in parts])
    with wave.open(str(target), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(RATE)
        out.writeframes((np.clip(samples, -1, 1) * 32767).astype("<i2").tobytes())


def summary(way: str, runs: list[dict[str, float]]) -> dict[str, Any]:
    """Medians of the runs of one way."""
    factors = [run["hear_s"] / run["audio_s"] for run in runs]
    return {
        "way": way,
        "real_time_factor": round(statistics.median(factors), 3),
        "real_time_factors": [round(factor, 3) for factor in factors],
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
    pairs = zip(measured["narrate"], measured["plain"], strict=True)
    ratios = [ours["hear_s"] / theirs["hear_s"] for ours, theirs in pairs]
    return {
        "file": file.name,
        "model": model,
        "ways": [narrate, plain],
        "time_ratio": round(statistics.median(ratios), 3),
        "time_ratios": [round(ratio, 3) for ratio in ratios],
        "memory_ratio": round(narrate["peak_mb"] / plain["peak_mb"], 3),
    }


@click.command()
@click.argument("file", required=False, type=click.Path(exists=True, dir_okay=False, path_type=Path))
@click.option("--model", default="base", show_default=True)
@click.option("--runs", default=3, show_default=True, type=click.IntRange(min=1))
@click.option("--only", type=click.Choice(list(WAYS)), hidden=True, help="Hear once in this process.")
def main(file: Path | None, model: str, runs: int, only: str | None) -> None:
    """Measure hearing on FILE, else on the human recordings of tests/data in a row, twice over."""
    if file and only:
        measured = WAYS[only](file, model)
        click.echo(json.dumps({**measured, "peak_bytes": peak_bytes()}))
        return
    with tempfile.TemporaryDirectory() as folder:
        if file is None:
            file = Path(folder) / "speech_short_twice.wav"
            join_clips(file, 2)
        result = compare(file, model, runs)
    head = ("", "real-time factor", "load, s", "peak memory, MB", "words", "audio, s")
    keys = ("way", "real_time_factor", "load_s", "peak_mb", "words", "audio_s")
    click.echo(table(head, [[row[key] for key in keys] for row in result["ways"]]))
    click.echo(f"time, narrate over plain: {result['time_ratio']} ({result['time_ratios']})")
    click.echo(f"peak memory, narrate over plain: {result['memory_ratio']}")
    click.echo(f"wrote {write_result('hearing_speed', result)}", err=True)


if __name__ == "__main__":
    main()
