"""What is heard by plain faster-whisper, without hints, with the fixed list, and with a second hearing by system.

    python tests/benchmarks/hints.py FOLDER [--cases tests/cases/judge/first] [--model base]

FOLDER holds recordings of the cases, named after them (accuracy.py --voiced DIR speaks them). Writes
results/hints_MODEL.json: word error rate, part names heard and seconds taken, of each way; nothing case by case.
"""

import time
from dataclasses import dataclass, field
from pathlib import Path

import click
from faster_whisper import WhisperModel
from tables import CHECKOUT, table, write_result

from narrate.hear.recognise import hear
from narrate.hear.weights import verify_model
from narrate.pipeline import listen_closer
from narrate.records.recording import Recording
from narrate.score.cases import read_cases
from narrate.score.counts import Share
from narrate.score.word_errors import count_part_names, count_word_errors
from narrate.settings import Settings
from narrate.words.load import load_lexicon

PLAIN = "plain faster-whisper"
"""At its own defaults: one window after another, what was heard before given as a prompt, no hints."""
WAYS = (PLAIN, "no hints", "the fixed list", "the fixed list, then a second hearing")


@dataclass
class Sum:
    """What came of one way over all recordings."""

    errors: Share = field(default_factory=Share)
    names: Share = field(default_factory=Share)
    seconds: float = 0.0


def hear_plainly(whisper: WhisperModel, path: Path) -> str:
    """What faster-whisper alone hears."""
    segments, _ = whisper.transcribe(str(path), beam_size=5)
    return " ".join(segment.text.strip() for segment in segments)


@click.command()
@click.argument("folders", nargs=-1, required=True, type=click.Path(exists=True, path_type=Path))
@click.option("--cases", multiple=True, type=click.Path(path_type=Path), default=[CHECKOUT / "tests/cases/judge/first"])
@click.option("--model", default="base", show_default=True)
def main(folders: tuple[Path, ...], cases: tuple[Path, ...], model: str) -> None:
    """Hear every recording four ways."""
    lexicon, settings = load_lexicon(), Settings(model=model)
    whisper = WhisperModel(str(verify_model(model)), device="cpu", compute_type=settings.compute_type)
    sums = {way: Sum() for way in WAYS}
    heard_s = 0.0
    for folder, place in zip(folders, cases, strict=True):
        recordings = {path.stem: path for path in folder.iterdir()}
        for case in (file.case for file in read_cases(place)):
            path = recordings[case.id]
            results: dict[str, tuple[Recording, float]] = {}
            start = time.perf_counter()
            plain = hear_plainly(whisper, path)
            plainly_s = time.perf_counter() - start
            start = time.perf_counter()
            bare = hear(path, settings=settings.model_copy(update={"hints": False}))
            results[WAYS[1]] = bare, time.perf_counter() - start
            start = time.perf_counter()
            hinted = hear(path, settings=settings, hints=lexicon.hints)
            once_s = time.perf_counter() - start
            results[WAYS[2]] = hinted, once_s
            start = time.perf_counter()
            (closer,) = listen_closer([path], [hinted], settings=settings, lexicon=lexicon)
            results[WAYS[3]] = closer, once_s + time.perf_counter() - start
            heard_s += bare.duration_s or 0.0
            texts = {way: (" ".join(w.text for w in recording.words), s) for way, (recording, s) in results.items()}
            for way, (text, seconds) in {PLAIN: (plain, plainly_s), **texts}.items():
                sums[way].errors += count_word_errors(case.said, text)
                sums[way].names += count_part_names(case, text)
                sums[way].seconds += seconds
    rows = [
        (way, f"{s.errors.part / s.errors.of:.3f}", f"{s.names.part / s.names.of:.3f} ({s.names.part} of {s.names.of})",
         f"{heard_s / s.seconds:.1f}")
        for way, s in sums.items()
    ]  # fmt: skip
    click.echo(table(("hints", "word error rate", "part names heard", "times real time"), rows))
    figures = {
        way: {"errors": s.errors.part, "words": s.errors.of, "names": s.names.part, "named": s.names.of,
              "seconds": round(s.seconds, 1)}
        for way, s in sums.items()
    }  # fmt: skip
    write_result(f"hints_{model}", {"model": model, "heard_s": round(heard_s), "ways": figures})


if __name__ == "__main__":
    main()
