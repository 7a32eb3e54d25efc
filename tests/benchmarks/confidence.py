"""Whether confidence means what it says: reliability, calibration error, and where the wrong fields are.

    python tests/benchmarks/confidence.py CASES[=FOLDER] …  [--judge]

Each CASES is read as typed, or heard from the recordings in FOLDER. Writes results/confidence.json and draws
docs/reliability.svg: totals only, nothing case by case.
"""

from pathlib import Path
from typing import Any

import click
import numpy as np
from tables import CHECKOUT, table, write_result

from narrate.find.mining import text_recording
from narrate.judge.confidence import FIELDS
from narrate.pipeline import process_recordings, process_words
from narrate.records.walkaround import Walkaround
from narrate.score.cases import read_cases
from narrate.score.fields import compare_fields
from narrate.score.pairing import pair_findings
from narrate.score.place import names_of
from narrate.settings import Settings
from narrate.words.load import load_lexicon

BINS = 10
SIDE, EDGE = 320, 40
"""Size of the drawing, and of the room for its scales."""


def gather(places: tuple[str, ...]) -> list[tuple[str, float, bool]]:
    """(field, chance given, whether it was right) of every field of every finding."""
    lexicon, rows = load_lexicon(), []
    names = names_of(lexicon)
    for place in places:
        cases, _, folder = place.partition("=")
        recordings = {path.stem: path for path in Path(folder).iterdir()} if folder else {}
        for case in (file.case for file in read_cases(Path(cases))):
            settings = Settings(market=case.market, drive_side=case.drive_side)
            if folder:
                walk: Walkaround = process_recordings([recordings[case.id]], settings=settings, lexicon=lexicon)
            else:
                walk = process_words([text_recording(case.said)], settings=settings, lexicon=lexicon)
            pairing = pair_findings(case.finding, walk.findings, names=names)
            for expected, finding in (*pairing.pairs, *((None, finding) for finding in pairing.extra)):
                right = compare_fields(expected, finding, names=names) if expected else None
                verdicts = {
                    "component": right is not None,
                    "location": right is not None and right.location is not False,
                    "condition": right is not None and right.status is not False and right.condition is not False,
                    "recommendation": right is not None and right.action is not False,
                }
                rows += [(f, getattr(finding.confidence, f), verdicts[f]) for f in FIELDS]
    return rows


def figures(rows: list[tuple[str, float, bool]]) -> dict[str, Any]:
    """Calibration error (Naeini et al., 2015), the bins, and what the least sure fifth holds of the wrong ones."""
    chances = np.array([chance for _, chance, _ in rows])
    right = np.array([float(verdict) for *_, verdict in rows])
    which = np.minimum((chances * BINS).astype(int), BINS - 1)
    bins = [
        {"from": b / BINS, "fields": int((which == b).sum()), "mean": round(float(chances[which == b].mean()), 3),
         "right": round(float(right[which == b].mean()), 3)}
        for b in range(BINS) if (which == b).any()
    ]  # fmt: skip
    error = sum(abs((chances[which == b] - right[which == b]).sum()) for b in range(BINS)) / len(rows)
    least = np.argsort(chances, kind="stable")[: len(rows) // 5]
    wrong = 1 - right
    return {
        "fields": len(rows),
        "right": int(right.sum()),
        "calibration error": round(float(error), 3),
        "wrong in the least sure fifth": round(float(wrong[least].sum() / max(wrong.sum(), 1)), 3),
        "bins": bins,
    }


def draw(bins: list[dict[str, Any]]) -> str:
    """The reliability curve: what was right over what was promised, a dot as large as its share of the fields."""
    total = sum(b["fields"] for b in bins)

    def at(x: float, y: float) -> tuple[float, float]:
        return EDGE + x * SIDE, EDGE / 2 + (1 - y) * SIDE

    (x0, y0), (x1, y1) = at(0, 0), at(1, 1)
    points = [(*at(b["mean"], b["right"]), 3 + 14 * (b["fields"] / total) ** 0.5) for b in bins]
    path = " ".join(f"{x:.1f},{y:.1f}" for x, y, _ in points)
    dots = "".join(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{r:.1f}"/>' for x, y, r in points)
    marks = "".join(
        f'<text x="{at(v, 0)[0]:.0f}" y="{y0 + 16:.0f}" text-anchor="middle">{v:g}</text>'
        f'<text x="{x0 - 6:.0f}" y="{at(0, v)[1] + 4:.0f}" text-anchor="end">{v:g}</text>'
        for v in (0, 0.25, 0.5, 0.75, 1)
    )
    size = SIDE + 2 * EDGE
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {size} {size}" font-family="sans-serif" font-size="12">'
        f'<rect width="{size}" height="{size}" fill="white"/>'
        f'<rect x="{x0}" y="{y1}" width="{SIDE}" height="{SIDE}" fill="none" stroke="black"/>'
        f'<line x1="{x0}" y1="{y0}" x2="{x1}" y2="{y1}" stroke="gray" stroke-dasharray="4"/>'
        f'<polyline points="{path}" fill="none" stroke="black"/><g fill="black" fill-opacity="0.5">{dots}</g>{marks}'
        f'<text x="{x0 + SIDE / 2}" y="{y0 + 34}" text-anchor="middle">confidence given</text>'
        f'<text transform="translate({x0 - 28},{y1 + SIDE / 2}) rotate(-90)" text-anchor="middle">share right</text>'
        "</svg>\n"
    )


@click.command()
@click.argument("places", nargs=-1, required=True)
def main(places: tuple[str, ...]) -> None:
    """Measure and draw."""
    rows = gather(places)
    every = {"all": figures(rows), **{f: figures([r for r in rows if r[0] == f]) for f in FIELDS}}
    head = ("field", "fields", "right", "calibration error", "wrong in the least sure fifth")
    click.echo(table(head, [[name, *(each[key] for key in head[1:])] for name, each in every.items()]))
    write_result("confidence", {"places": [place.partition("=")[0] for place in places], **every})
    (CHECKOUT / "docs" / "reliability.svg").write_text(draw(every["all"]["bins"]), "utf-8")


if __name__ == "__main__":
    main()
