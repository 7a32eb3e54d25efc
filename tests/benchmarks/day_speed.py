"""A day over all cores against plain faster-whisper in one process, and how it grows with the number of recordings.

    python tests/benchmarks/day_speed.py [--growth 8,40,200] [--piece 20] [--runs 1]

Both hear the eight recordings of sample_audio with the same model (int8, beam 5), from the start of the program to its
end. Plain means `WhisperModel(...).transcribe(file)` with faster-whisper's defaults, which only writes words; narrate
finds, judges, keeps and tells too. For growth, recordings are cut into pieces of a fixed length.
"""

import json
import os
import resource
import statistics
import subprocess
import sys
import tempfile
import time
import wave
from itertools import count
from pathlib import Path
from typing import Any, NamedTuple

import click
from tables import CHECKOUT, table, write_result

RATE = 16_000
PLAIN = """
import json, sys
from faster_whisper import WhisperModel
whisper = WhisperModel(sys.argv[1], device="cpu", compute_type="int8")
words = 0
for file in sys.argv[2:]:
    segments, _ = whisper.transcribe(file, beam_size=5)
    words += sum(len(segment.text.split()) for segment in segments)
print(words)
"""


def samples() -> list[Path]:
    """The recordings that come with narrate."""
    return sorted((CHECKOUT / "sample_audio").glob("*.ogg"))


def length_s(files: list[Path]) -> float:
    """Seconds of sound in all."""
    from narrate.hear.glance import glance_at

    return sum(glance_at(file).duration_s or 0.0 for file in files)


class Took(NamedTuple):
    """Seconds from the start of a program to its end, and of processor time in it and its processes."""

    wall_s: float
    cpu_s: float


def took(command: list[str]) -> Took:
    """Run a program to its end."""
    began, before_s = time.perf_counter(), _cpu_s()
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        raise click.ClickException(done.stderr.strip()[-500:])
    return Took(round(time.perf_counter() - began, 1), round(_cpu_s() - before_s, 1))


def _cpu_s() -> float:
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    return used.ru_utime + used.ru_stime


def plainly(files: list[Path]) -> Took:
    """Hear in one process by faster-whisper alone."""
    from narrate.hear.weights import model_folder

    return took([sys.executable, "-c", PLAIN, str(model_folder("base")), *map(str, files)])


def by_day(files: list[Path]) -> Took:
    """Run `narrate day` over a folder of links to the files; all of them must be done."""
    with tempfile.TemporaryDirectory() as place:
        folder, record = Path(place) / "day", Path(place) / "day.json"
        folder.mkdir()
        for file in files:
            (folder / file.name).symlink_to(file)
        narrate = [sys.executable, "-c", "from narrate.cli.main import main; main()"]
        told = ["day", str(folder), "--data", str(Path(place) / "data"), "--json", str(record)]
        seconds = took([*narrate, *told])
        if len(json.loads(record.read_text())["done"]) != len(files):
            message = "not all recordings were done"
            raise click.ClickException(message)
    return seconds


def pieces(folder: Path, number: int, piece_s: float) -> list[Path]:
    """Cut the samples, over and over at other places, into so many recordings of one length."""
    import numpy as np

    from narrate.hear.audio import decode

    sounds = [decode(path, min_duration_s=0.1, max_duration_s=600.0).samples for path in samples()]
    made: list[Path] = []
    for turn in count():
        for sound in sounds:
            for at in range(int(turn * 0.37 * RATE), sound.size - int(piece_s * RATE), int(piece_s * RATE)):
                path = folder / f"{len(made):04d}.wav"
                with wave.open(str(path), "wb") as out:
                    out.setparams((1, 2, RATE, 0, "NONE", ""))
                    part = sound[at : at + int(piece_s * RATE)]
                    out.writeframes((np.clip(part, -1, 1) * 32767).astype("<i2").tobytes())
                made.append(path)
                if len(made) == number:
                    return made
    return made


@click.command()
@click.option("--growth", default="8,40,200", show_default=True, help="Numbers of pieces.")
@click.option("--piece", default=20.0, show_default=True, help="Length of a piece, seconds.")
@click.option("--runs", default=1, show_default=True)
def main(growth: str, piece: float, runs: int) -> None:
    """Measure, print a table, and keep the figures."""
    files = samples()
    sound_s = length_s(files)
    measured: dict[str, list[Took]] = {"plain": [], "day": []}
    for number in range(runs):
        for way, hear in (("plain", plainly), ("day", by_day)):
            measured[way].append(hear(files))
            click.echo(f"run {number + 1}: {way} {measured[way][-1]} for {sound_s:.0f} s", err=True)
    pairs = list(zip(measured["plain"], measured["day"], strict=True))
    ratios = {key: [round(getattr(a, key) / getattr(b, key), 2) for a, b in pairs] for key in Took._fields}
    grown: list[dict[str, Any]] = []
    for number in [int(each) for each in growth.split(",") if each]:
        with tempfile.TemporaryDirectory() as folder:
            spent = by_day(pieces(Path(folder), number, piece))
        grown.append({"recordings": number, "sound_s": number * piece, **spent._asdict()})
        click.echo(f"{number} pieces: {spent}", err=True)
    rows = [
        (
            f"8 samples, {way}",
            round(sound_s),
            *(statistics.median(getattr(t, key) for t in spent) for key in Took._fields),
        )
        for way, spent in measured.items()
    ]
    rows += [(f"{e['recordings']} pieces, day", e["sound_s"], e["wall_s"], e["cpu_s"]) for e in grown]
    head = ("what", "sound, s", "took, s", "processor time, s", "times real time")
    click.echo(table(head, [(*row, f"{row[1] / row[2]:.1f}") for row in rows]))
    click.echo(f"plain over day: {ratios}; load {os.getloadavg()}")
    values = {
        "load_average": [round(each, 1) for each in os.getloadavg()],
        "sound_s": round(sound_s, 1),
        **{way: [each._asdict() for each in spent] for way, spent in measured.items()},
        "plain_over_day": ratios,
        "growth": grown,
    }
    click.echo(f"wrote {write_result('day_speed', values)}", err=True)


if __name__ == "__main__":
    main()
