"""A score for people and for programs; misses only of cases that may be tuned on."""

from typing import Any

from narrate.score.counts import Counts, Share
from narrate.score.intervals import Interval
from narrate.score.measure import CaseScore
from narrate.score.run import Score

SCHEMA = "narrate.score/1"


def score_text(score: Score) -> str:
    """The score as lines to print."""
    count = len(score.cases)
    nothing = [name for name, counts in score.counts.items() if not counts.given and not counts.owed]
    lines = [
        f"{count} case{'' if count == 1 else 's'}",
        "",
        f"{'':16}{'precision':>9}{'recall':>8}{'F1':>8}{'95% interval':>18}{'right':>7}{'given':>7}{'owed':>7}",
        *(
            _counts_line(name, counts, score.intervals[name])
            for name, counts in score.counts.items()
            if name not in nothing
        ),
        *([f"neither asked for nor given: {', '.join(nothing)}"] if nothing else []),
        "",
        "The interval is of F1, with the cases drawn again by chance.",
    ]
    lines += [f"{name}: {_say_share(share)}" for name, share in _shares(score).items()]
    lines += [f"{name}: {number}" for name, number in _totals(score).items()]
    shown = [case for case in score.cases if case.tunable]
    if shown:
        lines += ["", "Case by case (F1 of whole findings), with what went wrong:"]
        lines += [line for case in shown for line in _case_lines(case)]
    kept_back = count - len(shown)
    if kept_back:
        lines += ["", f"{kept_back} more only judge: what went wrong in them is not shown."]
    return "\n".join(lines)


def score_json(score: Score) -> dict[str, Any]:
    """The score as plain values for JSON."""
    return {
        "schema": SCHEMA,
        "cases": len(score.cases),
        "counts": {
            name: _counts_values(counts) | {"interval": _interval_values(score.intervals[name])}
            for name, counts in score.counts.items()
        },
        "whole_f1_interval": _interval_values(score.whole_f1_interval),
        "shares": {name: _share_values(share) for name, share in _shares(score).items()},
        "totals": _totals(score),
        "by_case": [_case_values(case) for case in score.cases if case.tunable],
    }


def _shares(score: Score) -> dict[str, Share]:
    shares = {
        "left/right swaps": score.swapped,
        "ok/fault flips": score.flipped,
        "conditions beyond the acceptable": score.conditions_beyond,
        "nothing lost: words of missed findings kept": score.carrying_kept,
        "words in unplaced": score.unplaced_words,
    }
    if score.words:
        shares |= {"word error rate": score.words.errors, "part names heard": score.words.part_names}
    return shares


def _totals(score: Score) -> dict[str, int]:
    return {
        "components listed as a fault that may not be": sum(len(case.forbidden) for case in score.cases),
        "amounts given that may not appear": sum(case.taken_back for case in score.cases),
        "missed findings whose name was not heard": sum(case.kept.not_located for case in score.cases),
    }


def _counts_line(name: str, counts: Counts, interval: Interval | None) -> str:
    precision, recall, f1 = (_say_rate(rate) for rate in (counts.precision, counts.recall, counts.f1))
    about = f"{interval[0]:.3f} to {interval[1]:.3f}" if interval else "-"
    return f"{name:16}{precision:>9}{recall:>8}{f1:>8}{about:>18}{counts.right:>7}{counts.given:>7}{counts.owed:>7}"


def _case_lines(case: CaseScore) -> list[str]:
    return [
        f"{case.case_id}: {_say_rate(case.counts['whole'].f1)}",
        *(f"  {miss.kind}: {miss.component}: {miss.text}" for miss in case.misses),
        *(f"  may not be a fault: {name}" for name in case.forbidden),
    ]


def _case_values(case: CaseScore) -> dict[str, Any]:
    return {
        "id": case.case_id,
        "counts": {name: _counts_values(counts) for name, counts in case.counts.items()},
        "forbidden": list(case.forbidden),
        "misses": [{"kind": miss.kind, "component": miss.component, "text": miss.text} for miss in case.misses],
    }


def _counts_values(counts: Counts) -> dict[str, int | float | None]:
    return {
        "right": counts.right,
        "given": counts.given,
        "owed": counts.owed,
        "precision": counts.precision,
        "recall": counts.recall,
        "f1": counts.f1,
    }


def _interval_values(interval: Interval | None) -> list[float] | None:
    return list(interval) if interval else None


def _share_values(share: Share) -> dict[str, int | float | None]:
    return {"part": share.part, "of": share.of, "share": share.value}


def _say_rate(rate: float | None) -> str:
    return "-" if rate is None else f"{rate:.3f}"


def _say_share(share: Share) -> str:
    return f"{_say_rate(share.value)} ({share.part} of {share.of})"
