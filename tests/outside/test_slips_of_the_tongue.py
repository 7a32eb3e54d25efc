"""What a speaker takes back, in questions that people were asked to put a slip into.

Source: Disfl-QA, dev (Gupta et al., Findings of ACL 2021; CC BY 4.0), 1,000 questions in two versions. Most slips are
names and whole clauses, which narrate does not know; asked here is after numbers only. Ordinals and points of the
compass (8 slips) are none of the things it reads.
"""

from pathlib import Path

import pytest
from asking import Asked
from published import questions
from repair_scores import RepairScores, score_repairs


@pytest.fixture(scope="session")
def scores(asked: Asked, data: Path) -> RepairScores:
    """All questions."""
    return score_repairs(asked, questions(data / "disfl_qa" / "dev.json"))


# Measured: 19 of 28 (0.679). Missed are mostly years, which measure nothing, and "actually", "rather", "whoops".
def test_the_number_said_last_stands_and_the_one_before_it_is_void(scores: RepairScores) -> None:
    """Source: Disfl-QA, a number only in the disfluent version and at most ten words later one in both."""
    right = scores.right["number"]
    assert right.of == 28
    assert right.part >= 18


# Measured: none.
def test_nothing_is_taken_back_in_questions_without_a_slip(scores: RepairScores) -> None:
    """Source: Disfl-QA, the questions as they were written."""
    assert scores.false.of == 1000
    assert scores.false.part <= 1
