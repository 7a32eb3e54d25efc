"""From cases to a printed score."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from narrate.records.case import Case
from narrate.records.walkaround import Finding, Walkaround
from narrate.score.cases import CaseFile
from narrate.score.counts import Counts, Share
from narrate.score.names import Names
from narrate.score.report import score_json, score_text
from narrate.score.run import Score, score_cases


@pytest.fixture
def score(
    names: Names,
    finding: Callable[..., Finding],
    walkaround: Callable[..., Walkaround],
    case: Callable[..., Case],
) -> Score:
    """One case found well but for an extra, one that only judges and is missed, both by ear."""
    tire = {"component": ["tire"], "locations": [["front left"]], "status": "fault"}
    horn = {"component": ["secret horn"], "status": "ok"}
    shown = case(tire, id="shown", said="left tire is bald")
    hidden = case(horn, id="hidden", said="secret horn works", must_not=("secret fuse",))
    found = {
        "shown": walkaround(finding("tire", "front left"), finding("hose"), said="left tire is bold"),
        "hidden": walkaround(finding("secret fuse"), said="secret horn works"),
    }
    files = (CaseFile(shown, Path("a.toml")), CaseFile(hidden, Path("judge/b.toml"), tunable=False))
    return score_cases(files, find=lambda told: found[told.id], names=names, audio=True)


def test_cases_are_added_up(score: Score) -> None:
    """Findings of all cases weigh the same."""
    assert Counts(right=1, given=3, owed=2) == score.counts["whole"]
    assert (Share(0, 1), Share(0, 1)) == (score.swapped, score.flipped)
    assert (Share(1, 3), Share(0, 7)) == (score.carrying_kept, score.unplaced_words)
    assert score.words is not None
    assert (Share(1, 7), Share(2, 2)) == (score.words.errors, score.words.part_names)


def test_the_report_prints_figures_and_what_went_wrong(score: Score) -> None:
    """Rates, counts, shares and the misses of cases one may tune on."""
    lines = score_text(score).splitlines()
    assert "2 cases" == lines[0]
    assert score.whole_f1_interval is not None
    low, high = (f"{end:.3f}" for end in score.whole_f1_interval)
    whole = ["whole", "0.333", "0.500", "0.400", low, "to", high, "1", "3", "2"]
    assert whole in [line.split() for line in lines]
    assert any(line.startswith("neither asked for nor given: amount, price, ") for line in lines)
    assert "left/right swaps: 0.000 (0 of 1)" in lines
    assert "word error rate: 0.143 (1 of 7)" in lines
    assert "components listed as a fault that may not be: 1" in lines
    assert "shown: 0.667" in lines
    assert any(line.startswith("  extra: hose: ") for line in lines)


def test_judging_cases_show_nothing_but_their_number(score: Score) -> None:
    """Neither report names them or what was in them."""
    for told in (score_text(score), json.dumps(score_json(score))):
        assert "shown" in told
        assert not [word for word in ("secret", "hidden") if word in told]
    assert "1 more only judge: what went wrong in them is not shown." in score_text(score)


def test_the_json_has_the_same_figures(score: Score) -> None:
    """A program reads counts and rates by name."""
    told = json.loads(json.dumps(score_json(score)))
    assert ("narrate.score/1", 2, 0.4) == (told["schema"], told["cases"], told["counts"]["whole"]["f1"])
    assert {"part": 1, "of": 7, "share": 1 / 7} == told["shares"]["word error rate"]
    assert ["shown"] == [case["id"] for case in told["by_case"]]
    low, high = told["whole_f1_interval"]
    assert low <= 0.4 <= high
    assert [low, high] == told["counts"]["whole"]["interval"]
    assert told["counts"]["amount"]["interval"] is None


def test_text_cases_have_no_word_errors(
    names: Names, walkaround: Callable[..., Walkaround], case: Callable[..., Case]
) -> None:
    """Words read as text were not heard, so nothing is said of hearing; nothing to score is no error."""
    score = score_cases([CaseFile(case(), Path("a.toml"))], find=lambda _: walkaround(), names=names)
    assert score.words is None
    assert "word error rate" not in score_text(score)
    assert "1 case" == score_text(score).splitlines()[0]
