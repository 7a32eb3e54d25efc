"""How soon and why, in the technician's words."""

from collections.abc import Callable

import pytest

from narrate.records.walkaround import Walkaround

Found = Callable[[str], Walkaround]


@pytest.mark.parametrize(
    ("said", "when"),
    [
        ("Front brake pads are worn to metal, this is not safe to drive, replace them.", "before_driving"),
        ("The left front ball joint is loose and needs replacing right away.", "this_visit"),
        ("Rear tires are worn, replace them before winter.", "by_date_or_distance"),
        ("The valve cover gasket is seeping, reseal it, no rush on that.", "no_hurry"),
    ],
)
def test_how_soon_is_said(found: Found, said: str, when: str) -> None:
    """Plain words of haste become the urgency of the finding they are said of."""
    urgencies = [f.urgency for f in found(said).findings if f.urgency]
    # Where a rule asks for more, what was said stands inside.
    assert [when] == [u.said.when if u.said else u.when for u in urgencies if u.said or u.origin == "said"]


def test_where_nothing_is_said_of_time_a_rule_decides(found: Found) -> None:
    """A fault alone says nothing about when."""
    (strut,) = found("The left front strut is leaking, replace it.").findings
    assert strut.urgency
    assert ("rule", None) == (strut.urgency.origin, strut.urgency.said)
