"""Fit how sure each field of a finding is, on the cases that may be tuned on, typed and heard.

    python models/fit_confidence.py [--takes 3] [--rows ROWS.json] [--out models/confidence.json]

Each case of tests/cases/narrations and tests/cases/short is read as typed and, so many times, spoken by one of the
voices of sample_audio in a clean room or in shop noise of 5 to 25 dB and heard with the usual settings. What comes
out is paired with what was expected; a field of a finding nobody expected is wrong. ROWS keeps what was gathered, so
that fitting again need not hear again. Logistic regression, L2; prints how well the chances hold on cases left out.
"""

import json
import random
import sys
import tempfile
import zlib
from pathlib import Path
from typing import Any

import click
import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

sys.path.extend(str(Path(__file__).parents[1] / part) for part in ("", "sample_audio"))

from audio_files import write_audio
from shop_noise import NOISES
from speak import speak

from narrate.find.mining import find_findings, text_recording
from narrate.judge.confidence import FIELDS, features
from narrate.pipeline import hear_recordings, made_by
from narrate.records.case import Case
from narrate.records.recording import Recording
from narrate.score.cases import read_cases
from narrate.score.fields import compare_fields
from narrate.score.pairing import pair_findings
from narrate.score.place import names_of
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon

HERE = Path(__file__).parent
CASES = HERE.parent / "tests" / "cases"
VOICES = ("slt", "awb", "rms", "en-us", "en-gb", "slt", "awb", "kal16")
NOISY_SHARE, LOUDEST_DB, FAINTEST_DB = 0.6, 5, 25
STIFF = 3.0
"""Weight of the L2 penalty, in rows."""
PARTS = 5
"""Cases are left out in so many parts in turn to measure the fit."""
Row = dict[str, Any]


def rows_of(case: Case, recording: Recording, lexicon: Lexicon, settings: Settings) -> list[Row]:
    """For each finding and field: its features, and whether an advisor would leave it."""
    found = find_findings(
        [recording], lexicon=lexicon, made_by=made_by(settings, lexicon), market=case.market, drive_side=case.drive_side
    )
    names, recordings = names_of(lexicon), {recording.id: recording}
    pairing = pair_findings(case.finding, found.findings, names=names)
    rows = []
    for expected, finding in (*pairing.pairs, *((None, finding) for finding in pairing.extra)):
        right = expected and compare_fields(expected, finding, names=names)
        verdicts = {
            "component": right is not None,
            "location": bool(right) and right.location is not False,
            "condition": bool(right) and right.status is not False and right.condition is not False,
            "recommendation": bool(right) and right.action is not False,
        }
        rows += [
            {"case": case.id, "field": f, "x": features(finding, recordings, f), "right": verdicts[f]} for f in FIELDS
        ]
    return rows


def takes_of(case: Case, count: int, lexicon: Lexicon, settings: Settings) -> list[Recording]:
    """The case typed, and spoken and heard so many times."""
    recordings = [text_recording(case.said)]
    for take in range(count):
        chance = random.Random(f"{case.id} {take}")
        noise = chance.choice(sorted(NOISES)) if chance.random() < NOISY_SHARE else None
        snr_db = float(chance.randint(LOUDEST_DB, FAINTEST_DB)) if noise else None
        seed = zlib.crc32(f"{case.id} {take}".encode())
        samples = speak(case.said, voice=chance.choice(VOICES), noise=noise, snr_db=snr_db, seed=seed)
        with tempfile.TemporaryDirectory() as folder:
            sound = Path(folder, "take.ogg")
            write_audio(sound, samples)
            recordings += hear_recordings([sound], settings=settings, lexicon=lexicon)
    return recordings


def fit(rows: list[Row], names: list[str]) -> dict[str, float]:
    """Weights of a logistic regression."""
    x, y = _table(rows, names)

    def loss(w: NDArray[np.float64]) -> tuple[float, NDArray[np.float64]]:
        total = x @ w
        chance = 1 / (1 + np.exp(-total))
        value = float(np.logaddexp(0, np.where(y > 0, -total, total)).sum() + STIFF / 2 * (w[1:] ** 2).sum())
        slope = x.T @ (chance - y)
        slope[1:] += STIFF * w[1:]
        return value, slope

    best = minimize(loss, np.zeros(len(names)), jac=True, method="L-BFGS-B")
    return {name: round(float(weight), 4) for name, weight in zip(names, best.x, strict=True)}


def _table(rows: list[Row], names: list[str]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    x = np.array([[row["x"].get(name, 0.0) for name in names] for row in rows])
    return x, np.array([float(row["right"]) for row in rows])


def calibration_error(chances: NDArray[np.float64], right: NDArray[np.float64], bins: int = 10) -> float:
    """Expected calibration error: |mean chance - share right| over equal bins, weighted (Naeini et al., 2015)."""
    which = np.minimum((chances * bins).astype(int), bins - 1)
    return float(
        sum(abs((chances[which == b] - right[which == b]).sum()) for b in range(bins) if (which == b).any())
        / len(right)
    )


@click.command()
@click.option("--takes", default=3, show_default=True)
@click.option("--rows", "kept", type=click.Path(path_type=Path), help="Keep what was gathered here, or take it up.")
@click.option("--out", type=click.Path(path_type=Path), default=HERE / "confidence.json")
def main(takes: int, kept: Path | None, out: Path) -> None:
    """Gather, fit, and write the weights."""
    if kept and kept.exists():
        rows = json.loads(kept.read_text("utf-8"))
    else:
        lexicon, rows = load_lexicon(), []
        cases = [file.case for name in ("narrations", "short") for file in read_cases(CASES / name)]
        for number, case in enumerate(cases, 1):
            settings = Settings(market=case.market, drive_side=case.drive_side)
            for recording in takes_of(case, takes, lexicon, settings):
                rows += rows_of(case, recording, lexicon, settings)
            if number % 10 == 0:
                click.echo(f"{number} of {len(cases)} cases, {len(rows)} fields", err=True)
        if kept:
            kept.write_text(json.dumps(rows), "utf-8")
    names = ["always", *sorted({name for row in rows for name in row["x"]} - {"always"})]
    cases_of = sorted({row["case"] for row in rows})
    random.Random(1).shuffle(cases_of)
    part = {case: number % PARTS for number, case in enumerate(cases_of)}
    weights, figures = {}, {}
    for field in FIELDS:
        mine = [row for row in rows if row["field"] == field]
        weights[field] = fit(mine, names)
        chances, right = [], []
        for out_part in range(PARTS):
            held = [row for row in mine if part[row["case"]] == out_part]
            learned = fit([row for row in mine if part[row["case"]] != out_part], names)
            x, y = _table(held, names)
            chances.append(1 / (1 + np.exp(-x @ np.array([learned[name] for name in names]))))
            right.append(y)
        error = calibration_error(np.concatenate(chances), np.concatenate(right))
        figures[field] = {
            "fields": len(mine),
            "right": sum(r["right"] for r in mine),
            "error left out": round(error, 3),
        }
        click.echo(f"{field}: {figures[field]}")
    out.write_text(
        json.dumps({"schema": "narrate.confidence/1", "fitted": figures, "weights": weights}, indent=1) + "\n"
    )


if __name__ == "__main__":
    main()
