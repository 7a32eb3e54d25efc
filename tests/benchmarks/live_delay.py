"""How soon live words and findings come, how often what was shown changes, and how it stands to the final list.

    python tests/benchmarks/live_delay.py [FILE…] [--hints 24] [--model base] [--real]

A recording is given in tenths of a second, as a phone sends it, on a clock of its own: what hearing takes is the
processor time of this process (one thread), so that other work on the machine changes nothing. With --real it is the
wall clock. The final list is that of `narrate process` with the model. Writes results/live_delay.json.
"""

import time
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import click
import numpy as np
from tables import CHECKOUT, table, write_result

from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.growing import Growing, PartialWords
from narrate.pipeline import process_recordings
from narrate.records.walkaround import Finding
from narrate.settings import Settings
from narrate.words.lexicon import Lexicon
from narrate.words.load import load_lexicon
from narrate.work import live_serving
from narrate.work.live_session import LiveSession
from narrate.work.live_story import span_of

FRAME = RATE // 10
NEAR_S = 1.0
"""A finding of the list is the one shown if they are of one part and were spoken no further apart than this."""


class Noting(Growing):
    """Notes the words of each phrase as they were told."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.noted: list[PartialWords] = []

    def feed(self, samples: Samples, at_s: float) -> list[PartialWords]:
        self.noted = super().feed(samples, at_s)
        return self.noted


@dataclass
class Shown:
    """A finding as it was first shown, and what became of it."""

    line: str
    changes: int = 0
    gone: bool = False


@dataclass
class Figures:
    """Of all recordings."""

    sound_s: float = 0.0
    busy_s: float = 0.0
    word_s: list[float] = field(default_factory=list)
    """From the end of a word to when it is first shown, whatever becomes of it."""
    phrase_s: list[float] = field(default_factory=list)
    """From the end of a phrase to its final words."""
    finding_s: list[float] = field(default_factory=list)
    """From the end of the phrase that a finding first shows after."""
    most_behind_s: float = 0.0
    shown: list[Shown] = field(default_factory=list)
    not_final: int = 0
    final: int = 0
    not_shown: int = 0


@click.command(help=__doc__)
@click.argument("files", nargs=-1, type=click.Path(exists=True, path_type=Path))
@click.option("--hints", default=live_serving.HINTS, show_default=True, help="Part names to listen for.")
@click.option("--model", default="base", show_default=True, help="Model that makes the final list.")
@click.option("--real", is_flag=True, help="By the wall clock.")
def main(files: tuple[Path, ...], hints: int, model: str, real: bool) -> None:
    """Measure, print and keep."""
    paths = files or tuple(sorted((CHECKOUT / "sample_audio").glob("*.ogg")))
    lexicon, settings = load_lexicon(), Settings(model=model)
    engine, second = live_serving.live_engine(settings), live_serving.second_engine(settings)
    again = live_serving.heard_again(second, lexicon)
    live_serving.practise((engine, second), settings, lexicon)
    clock = time.perf_counter if real else time.process_time
    figures = Figures()
    for path in paths:
        sound = decode(path, min_duration_s=0, max_duration_s=10_800).samples
        hearing = Noting(engine, hints=lexicon.hints[:hints], again=again, clock=clock)
        shown = follow(sound, hearing, settings, lexicon, clock, figures)
        compare(shown, process_recordings([path], settings=settings, lexicon=lexicon).findings, figures)
    figure = summary(figures) | {"recordings": len(paths), "hints": hints, "final_model": model, "real": real}
    print(table(("what", "figure"), [[key, value] for key, value in figure.items()]))
    if not files:
        write_result("live_delay", {"figures": figure})


def follow(
    sound: Samples,
    hearing: Noting,
    settings: Settings,
    lexicon: Lexicon,
    clock: Callable[[], float],
    figures: Figures,
) -> tuple[Finding, ...]:
    """Speak a recording to a session; return what was shown at the end."""
    pcm = np.rint(np.concatenate((sound, np.zeros(2 * RATE, np.float32))) * 32767).astype("<i2")
    session = LiveSession(hearing, settings, lexicon)
    session.begin(0, 0.0, "never")
    known: dict[str, Shown] = {}
    heard: dict[tuple[int, int], float] = {}
    phrase_end_s = 0.0
    for now_s, told in played(session, pcm, clock, figures):
        for phrase in hearing.noted:
            phrase_end_s = phrase.end_s if phrase.final else phrase_end_s
            _note_words(phrase, now_s, heard, figures)
        hearing.noted = []
        for message in told:
            if message["type"] == "findings":
                _note_findings(message["findings"], now_s - phrase_end_s, known, figures)
    figures.sound_s += sound.size / RATE
    figures.shown += known.values()
    findings = {finding.id: finding for finding in session.walkaround.findings}
    for id_, each in known.items():
        each.gone = id_ not in findings
    return tuple(findings.values())


def played(
    session: LiveSession, pcm: Any, clock: Callable[[], float], figures: Figures
) -> Iterator[tuple[float, list[dict[str, Any]]]]:
    """(second at which it is told, messages), while sound comes on at its own pace and waits while hearing is busy."""
    now_s, first = 0.0, 0
    while first < pcm.size:
        now_s = max(now_s, (first + FRAME) / RATE)
        count = max(1, int(now_s * RATE - first) // FRAME)
        figures.most_behind_s = max(figures.most_behind_s, count * FRAME / RATE)
        began = clock()
        told = session.feed(pcm[first : first + count * FRAME].tobytes(), first / RATE)
        took_s = clock() - began
        first += count * FRAME
        now_s += took_s
        figures.busy_s += took_s
        yield now_s, told


def _note_words(phrase: PartialWords, now_s: float, heard: dict[tuple[int, int], float], figures: Figures) -> None:
    for number, word in enumerate(phrase.words):
        if (phrase.phrase, number) not in heard and word.end_s is not None:
            heard[phrase.phrase, number] = now_s
            figures.word_s.append(max(0.0, now_s - min(word.end_s, phrase.end_s)))
    if phrase.final:
        figures.phrase_s.append(now_s - phrase.end_s)


def _note_findings(rows: Sequence[dict[str, Any]], delay_s: float, known: dict[str, Shown], figures: Figures) -> None:
    for row in rows:
        if row["id"] not in known:
            known[row["id"]] = Shown(line=row["line"])
            figures.finding_s.append(delay_s)
        elif known[row["id"]].line != row["line"]:
            known[row["id"]].changes += 1
            known[row["id"]].line = row["line"]


def compare(here: Sequence[Finding], final: Sequence[Finding], figures: Figures) -> None:
    """Count what was shown at the end and is not on the list of the whole recording, and the other way."""
    figures.not_final += sum(1 for finding in here if not any(same(finding, other) for other in final))
    figures.final += len(final)
    figures.not_shown += sum(1 for other in final if not any(same(finding, other) for finding in here))


def same(one: Finding, other: Finding) -> bool:
    """Whether two findings are of one part, spoken at about one time."""
    spans = span_of(one), span_of(other)
    if one.component.id != other.component.id or spans[0] is None or spans[1] is None:
        return False
    return spans[0][0] <= spans[1][1] + NEAR_S and spans[1][0] <= spans[0][1] + NEAR_S


def summary(figures: Figures) -> dict[str, Any]:
    """Figures to print."""
    shown = figures.shown
    kept = [each for each in shown if not each.gone]
    return {
        "sound_s": round(figures.sound_s),
        "busy_share": round(figures.busy_s / figures.sound_s, 2),
        "most_sound_waiting_s": round(figures.most_behind_s, 1),
        **_spread("word_shown_after_s", figures.word_s),
        **_spread("final_words_after_s", figures.phrase_s),
        **_spread("finding_after_s", figures.finding_s),
        "findings_shown": len(shown),
        "changed_later": sum(1 for each in shown if each.changes),
        "changes": sum(each.changes for each in shown),
        "gone_again": sum(1 for each in shown if each.gone),
        "at_the_end": len(kept),
        "at_the_end_not_on_the_list": figures.not_final,
        "on_the_list": figures.final,
        "on_the_list_never_shown": figures.not_shown,
    }


def _spread(name: str, values: Sequence[float]) -> dict[str, float]:
    return {f"{name}_{share}": round(float(np.percentile(values, share)), 2) for share in (50, 90, 100)}


if __name__ == "__main__":
    main()
