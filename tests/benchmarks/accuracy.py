"""Remake the tables of docs/accuracy.md.

    python tests/benchmarks/accuracy.py [--quick] [--model base] [--voiced DIR]

Scores the narrations of tests/cases/narrations, of sample_audio and of tests/cases/judge as text and as recordings,
and the short cases as text. The narrations are spoken by sample_audio/make_samples.py into a folder that is kept
between runs.
Writes results/accuracy.json and results/accuracy.md.
"""

import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import click
from tables import CHECKOUT, table, write_result

from narrate.errors import RecordError
from narrate.score.place import score_place
from narrate.score.report import score_json
from narrate.settings import Settings, cache_folder
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

NARRATIONS = CHECKOUT / "tests" / "cases" / "narrations"
SHORT = CHECKOUT / "tests" / "cases" / "short"
JUDGE = CHECKOUT / "tests" / "cases" / "judge"
SAMPLES = CHECKOUT / "sample_audio"
FIELDS = ("whole", "component", "location", "status", "condition", "action")
BESIDE = (
    "amount", "price", "code", "concern link", "suggested link", "reason", "consequence", "test", "timing",
    "while open", "part option", "urgency", "heading", "second vehicle",
)  # fmt: skip


@dataclass(frozen=True)
class Set:
    """Cases, and where recordings of them lie; None reads the text."""

    name: str
    cases: Path
    audio: Path | None = None


def sets(voiced: Path, quick: bool) -> list[Set]:
    """What is scored, in the order of the table."""
    texts = [
        Set("narrations, text", NARRATIONS),
        Set("samples, text", SAMPLES),
        Set("short cases, text", SHORT),
        Set("judge, first 20, text", JUDGE / "first"),
        Set("judge, second 20, text", JUDGE / "second"),
        Set("judge, short, text", JUDGE / "short"),
    ]
    heard = [
        Set("narrations, voiced", NARRATIONS, voiced / "narrations"),
        Set("samples, recorded", SAMPLES, SAMPLES),
        Set("judge, first 20, voiced", JUDGE / "first", voiced / "first"),
        Set("judge, second 20, voiced", JUDGE / "second", voiced / "second"),
    ]
    return texts if quick else [*texts, *heard]


def speak_narrations(cases: Path, folder: Path) -> None:
    """Have the narrations of a folder spoken; what is there already is left alone."""
    command = [sys.executable, str(SAMPLES / "make_samples.py"), "--cases", str(cases), "--out", str(folder)]
    done = subprocess.run(command, capture_output=True, text=True, check=False)
    if done.returncode:
        message = f"The narrations could not be spoken: {done.stderr.strip()}"
        raise click.ClickException(message)


def measure(one: Set, settings: Settings, lexicon: Lexicon) -> dict[str, Any]:
    """The score of one set as plain values; `left_out` names the cases without a recording."""
    start = time.perf_counter()
    score, left_out = score_place(one.cases, settings=settings, lexicon=lexicon, audio=one.audio)
    click.echo(f"{one.name}: {len(score.cases)} cases in {time.perf_counter() - start:.0f} s", err=True)
    values = score_json(score)
    if JUDGE in one.cases.parents:
        # Nobody tunes on these: only the totals are written down.
        values.pop("by_case", None)
    return {"left_out": list(left_out), **values}


def share(values: dict[str, Any], name: str) -> str:
    """A share as 0.123 (1 of 8), or a dash where nothing was asked."""
    given = values["shares"].get(name)
    if not given or given["share"] is None:
        return "-"
    return f"{given['share']:.3f} ({given['part']} of {given['of']})"


def rate(values: dict[str, Any], field: str, kind: str) -> str:
    """Precision, recall or F1 of one field."""
    counted = values["counts"].get(field)
    return "-" if not counted or counted[kind] is None else f"{counted[kind]:.3f}"


def interval(values: dict[str, Any]) -> str:
    """The bootstrap interval of the F1 of whole findings."""
    low_high = values["whole_f1_interval"]
    return f"{low_high[0]:.2f} to {low_high[1]:.2f}" if low_high else "-"


def markdown(results: dict[str, dict[str, Any]]) -> str:
    """The tables, ready to be put into docs/accuracy.md."""
    whole = table(
        ("cases", "number", "precision", "recall", "F1 of whole findings", "95 % interval"),
        [
            [name, v["cases"], *(rate(v, "whole", kind) for kind in ("precision", "recall", "f1")), interval(v)]
            for name, v in results.items()
        ],
    )
    counted = [f for f in (*FIELDS, *BESIDE) if any(f in v["counts"] for v in results.values())]
    fields = table(
        ("F1 by field", *counted), [[name, *(rate(v, f, "f1") for f in counted)] for name, v in results.items()]
    )
    names = list(dict.fromkeys(share_name for v in results.values() for share_name in v["shares"]))
    shares = table(("share", *results), [[n, *(share(v, n) for v in results.values())] for n in names])
    totals = list(dict.fromkeys(total for v in results.values() for total in v["totals"]))
    counts = table(("count", *results), [[t, *(v["totals"].get(t, "-") for v in results.values())] for t in totals])
    return "\n\n".join((whole, fields, shares, counts)) + "\n"


@click.command()
@click.option("--quick", is_flag=True, help="Texts only, no recordings.")
@click.option("--model", default="base", show_default=True)
@click.option("--voiced", type=click.Path(file_okay=False, path_type=Path), help="Where spoken narrations are kept.")
def main(quick: bool, model: str, voiced: Path | None) -> None:
    """Score everything and write the tables."""
    folder = voiced or cache_folder() / "voiced_narrations"
    lexicon = load_lexicon()
    if not quick:
        for cases in (NARRATIONS, JUDGE / "first", JUDGE / "second"):
            speak_narrations(cases, folder / cases.name)
    results: dict[str, dict[str, Any]] = {}
    unread: dict[str, str] = {}
    for one in sets(folder, quick):
        try:
            results[one.name] = measure(one, Settings(model=model), lexicon)
        except RecordError as error:
            # One bad case must not cost the tables of the others; the run fails all the same.
            unread[one.name] = str(error).replace(f"{CHECKOUT}/", "")
    text = markdown(results)
    click.echo(text)
    # A quick run must not take the place of a full one.
    name = "accuracy_quick" if quick else "accuracy"
    path = write_result(name, {"model": model, "lexicon": lexicon.digest, "sets": results, "unread": unread})
    path.with_suffix(".md").write_text(text, "utf-8")
    click.echo(f"wrote {path} and {name}.md beside it", err=True)
    if unread:
        raise click.ClickException("\n".join(f"{one} was not scored: {why}" for one, why in unread.items()))


if __name__ == "__main__":
    main()
