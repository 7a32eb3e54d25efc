"""Peak memory and time of hearing long recordings.

    python tests/benchmarks/long_sound.py [MINUTES…] [--model base]

The samples of sample_audio are joined, over and over, to a recording of each length; `narrate transcribe` hears it in a
process of its own. Writes results/long_sound.json.
"""

import subprocess
import sys
import tempfile
import time
from itertools import cycle
from pathlib import Path

import click
import numpy as np
from tables import CHECKOUT, table, write_result

from narrate.hear.audio import RATE, decode

sys.path.append(str(CHECKOUT / "sample_audio"))

from audio_files import write_audio


def long_recording(minutes: int, target: Path) -> None:
    """Write the samples one after another until the minutes are full."""
    clips = sorted((CHECKOUT / "sample_audio").glob("*.ogg"))
    samples = [decode(path, min_duration_s=0.1, max_duration_s=3600.0).samples for path in clips]
    wanted, parts = minutes * 60 * RATE, []
    for clip in cycle(samples):
        parts.append((np.clip(clip, -1, 1) * 32767).astype(np.int16)[:wanted])
        wanted -= parts[-1].size
        if not wanted:
            break
    write_audio(target, np.concatenate(parts))


def hear_apart(sound: Path, model: str) -> dict[str, float]:
    """Hear in a process of its own; its peak memory and the time it took."""
    code = (
        "import json, resource, sys\n"
        "from pathlib import Path\n"
        "from narrate.pipeline import hear_recordings\n"
        "from narrate.settings import Settings\n"
        "from narrate.words.load import load_lexicon\n"
        "settings, lexicon = Settings(model=sys.argv[2]), load_lexicon()\n"
        "(heard,) = hear_recordings([Path(sys.argv[1])], settings=settings, lexicon=lexicon)\n"
        "peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "print(json.dumps([peak, len(heard.words)]))\n"
    )
    start = time.perf_counter()
    done = subprocess.run([sys.executable, "-c", code, str(sound), model], capture_output=True, text=True, check=True)
    peak, words = done.stdout.strip("[]\n").split(",")
    unit = 1 if sys.platform == "darwin" else 1024
    return {"peak_mb": int(peak) * unit // 1_000_000, "words": int(words), "seconds": time.perf_counter() - start}


@click.command()
@click.argument("minutes", nargs=-1, type=int)
@click.option("--model", default="base", show_default=True)
def main(minutes: tuple[int, ...], model: str) -> None:
    """Hear recordings of so many MINUTES, by default 10, 60 and 180."""
    rows = []
    for length in minutes or (10, 60, 180):
        with tempfile.TemporaryDirectory() as folder:
            sound = Path(folder, "long.ogg")
            long_recording(length, sound)
            heard = hear_apart(sound, model)
        factor = length * 60 / heard["seconds"]
        rows.append({"minutes": length, **heard, "times_real_time": round(factor, 1)})
        click.echo(str(rows[-1]), err=True)
    click.echo(table(tuple(rows[0]), [list(row.values()) for row in rows]))
    write_result("long_sound", {"model": model, "rows": rows})


if __name__ == "__main__":
    main()
