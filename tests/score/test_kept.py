"""Nothing lost: where the words of missed findings went."""

from collections.abc import Callable

from narrate.records.case import Case
from narrate.records.walkaround import Evidence, Finding, Unplaced, Walkaround
from narrate.score.counts import Share
from narrate.score.kept import count_kept

SAID = "a b c d e f g h the horn is dead i j k l m n o p"  # the horn's words: 3 to 15
HORN = {"component": ["horn"]}


def unplaced(first: int, last: int) -> dict[str, object]:
    words = " ".join(SAID.split()[first : last + 1])
    evidence = Evidence(recording="r1", first_word=first, last_word=last, said=words)
    return {"unplaced": (Unplaced(id="u1", why="no part", evidence=(evidence,)),)}


def test_words_about_a_missed_part_are_looked_for(
    walkaround: Callable[..., Walkaround], case: Callable[..., Case]
) -> None:
    """The name and six words on either side carry it; those in unplaced are kept."""
    kept = count_kept(case(HORN).finding, (), walkaround(said=SAID, **unplaced(8, 11)))
    assert (Share(4, 13), Share(4, 20), 0) == (kept.carrying, kept.unplaced, kept.not_located)


def test_any_evidence_keeps_words(
    finding: Callable[..., Finding], walkaround: Callable[..., Walkaround], case: Callable[..., Case]
) -> None:
    """Words in the evidence of another finding are not lost."""
    fuse = finding("fuse", words=(8, 11))
    kept = count_kept(case(HORN).finding, (fuse,), walkaround(fuse, said=SAID))
    assert Share(4, 13) == kept.carrying


def test_a_part_found_elsewhere_does_not_hide_the_loss(
    finding: Callable[..., Finding], walkaround: Callable[..., Walkaround], case: Callable[..., Case]
) -> None:
    """Where the same name was found and paired, only the other places of the name are looked at."""
    said = "horn one " + "x " * 10 + "horn two"
    found = finding("horn", words=(0, 1))
    kept = count_kept(case(HORN).finding, (found,), walkaround(found, said=said))
    assert Share(0, 8) == kept.carrying


def test_a_name_not_heard_is_told_apart(walkaround: Callable[..., Walkaround], case: Callable[..., Case]) -> None:
    """Where no name was heard nobody can say where the words went."""
    kept = count_kept(case({"component": ["brake pad"]}).finding, (), walkaround(said=SAID))
    assert (Share(0, 0), 1) == (kept.carrying, kept.not_located)
