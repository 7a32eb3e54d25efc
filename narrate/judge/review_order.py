"""In which order an advisor should check the findings: what costs most if wrong, and is least sure, first."""

from narrate.records.walkaround import Finding, Walkaround

COST = {"fault": 4.0, "work": 3.0, "unclear": 3.0, "ok": 5.0, "unchecked": 2.0}
"""What a wrong status costs: a fault shown as fine is the worst error. By judgement, not measured."""


def order_for_review(walkaround: Walkaround) -> Walkaround:
    """Fill `review_order`: by (1 - confidence) times cost, the doubtful first, in the order said at a draw.

    Dropped ones need no more checking.
    """

    def risk(finding: Finding) -> float:
        return -(1.0 - finding.confidence.overall) * COST[finding.status]

    ordered = sorted((f for f in walkaround.findings if f.review.state != "dropped"), key=risk)
    return walkaround.model_copy(update={"review_order": tuple(finding.id for finding in ordered)})
