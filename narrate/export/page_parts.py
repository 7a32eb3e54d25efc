"""The pieces of the customer's page; everything that comes from a record is escaped here."""

from html import escape

from narrate.export.cautions import say_cautions
from narrate.export.phrases import (
    say_amount,
    say_conditions,
    say_doubt,
    say_locations,
    say_number,
    say_option,
    say_price,
    say_recommendation,
    say_time,
    say_urgency,
    say_verdicts,
    say_words,
)
from narrate.records.walkaround import (
    Concern,
    Contradiction,
    Evidence,
    Finding,
    Suggestion,
    Unplaced,
    Walkaround,
)

OF_THE_VISIT = ("heading", "split")
"""Kinds of suggestions that are about the order and the vehicle, and are shown beside them."""


_PLAIN = {"matters": "Why it matters", "if_left": "If it is left"}


def vehicle_lines(walkaround: Walkaround) -> str:
    """What is known of the vehicle and the visit, a line each."""
    vehicle = walkaround.vehicle
    odometer = vehicle.odometer
    known = (
        ("Order", walkaround.order_number),
        ("Vehicle number (VIN)", vehicle.vin),
        ("Plate", vehicle.plate),
        ("Distance on the clock", f"{say_number(odometer.value)} {odometer.unit}" if odometer else None),
        ("Technician", walkaround.technician),
    )
    lines = [_line(f"{name}: {text}") for name, text in known if text]
    if walkaround.heading:
        said = dict.fromkeys(value.evidence for value in walkaround.heading)
        lines.append(f"<p>The technician said of these: <q>{escape(say_words(said))}</q></p>")
    for suggestion in walkaround.suggestions:
        if suggestion.kind in OF_THE_VISIT:
            start_s = suggestion.evidence[0].start_s if suggestion.evidence else None
            where = f" (at {say_time(start_s)})" if start_s is not None else ""
            lines.append(_line(f"To be decided: {suggestion.text}{where}"))
    return "\n".join(lines)


def finding_item(finding: Finding, walkaround: Walkaround) -> str:
    """One finding: what it is, what to do, the words it comes from, and any guess shown as a guess."""
    recommendation = say_recommendation(finding.recommendation)
    texts = (
        _found(finding),
        f"We recommend: {recommendation}." if recommendation else "",
        f"How soon: {say_urgency(finding.urgency)}." if finding.urgency else "",
        *(f"Measured: {text}." for text in _measured(finding)),
        _listed("Trouble codes", finding.codes),
        _listed("Tested", finding.tests),
        _listed("Why", (finding.reason,)),
        _listed("What may follow", (finding.consequence,)),
        *(f"{_PLAIN[words.about]}: {words.text.rstrip('.')} (the program's words)." for words in finding.plain_words),
        _listed("Part", tuple(say_option(option) for option in finding.part_options)),
        _listed("Price said", tuple(say_price(price) for price in finding.quoted_prices)),
        *(f"This is a guess: {say_doubt(d, taken_as=finding.component.name)}." for d in finding.doubts),
    )
    lines = "\n".join(_line(text) for text in texts if text)
    quotes = _quoted(finding.evidence, walkaround)
    return f"<article>\n<h3>{escape(_heading(finding))}</h3>\n{lines}\n{quotes}\n</article>"


def concern_item(concern: Concern, walkaround: Walkaround) -> str:
    """What the customer complained of, and which findings answer it."""
    answers = tuple(
        _heading(finding)
        for finding in walkaround.findings
        if finding.review.state != "dropped" and concern.id in {answer.concern for answer in finding.answers}
    )
    state = {"open": "Not answered yet", "partly": "Answered in part", "answered": "Answered"}[concern.state]
    text = f"{state}, see: {'; '.join(answers)}." if answers else f"{state}."
    heading = f"<h3>{escape(_capital(concern.text))}</h3>"
    return f"<article>\n{heading}\n{_line(text)}\n{_quoted(concern.evidence, walkaround)}\n</article>"


def unplaced_item(unplaced: Unplaced, walkaround: Walkaround) -> str:
    """Words that fit nowhere, and why."""
    return f"<article>\n{_quoted(unplaced.evidence, walkaround)}\n{_line(_capital(unplaced.why))}\n</article>"


def contradiction_item(contradiction: Contradiction) -> str:
    """Two findings that cannot both be right."""
    return _line(contradiction.text)


def suggestion_item(suggestion: Suggestion) -> str:
    """A proposal with where it comes from."""
    return _line(f"{suggestion.text} (source: {suggestion.source})")


def measurements_table(findings: list[Finding]) -> list[str]:
    """All numbers in one table, or nothing."""
    rows = [
        f'<tr><th scope="row">{escape(_capital(finding.component.name))}</th>'
        + "".join(f"<td>{escape(cell)}</td>" for cell in cells)
        + "</tr>"
        for finding in findings
        for cells in _number_cells(finding)
    ]
    if not rows:
        return []
    names = ("Part", "Where", "What was measured", "Number", "Limit")
    head = "".join(f'<th scope="col">{name}</th>' for name in names)
    caption = "<caption>Every number the technician gave</caption>"
    body = "\n".join(rows)
    return [f"<table>\n{caption}\n<thead><tr>{head}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>"]


def cautions_list(findings: list[Finding]) -> list[str]:
    """Each caution once, however many findings carry it."""
    return [_line(caution) for caution in say_cautions(findings)]


def _number_cells(finding: Finding) -> list[tuple[str, ...]]:
    return [
        (
            number.location or say_locations(finding.locations),
            number.quantity or "",
            ("about " if number.about else "") + say_amount(number.value, number.unit, high=number.high),
            _limit(finding, place),
        )
        for place, number in enumerate(finding.measurements)
    ]


def _limit(finding: Finding, place: int) -> str:
    number = finding.measurements[place]
    said = number.spoken_limit
    return "; ".join(
        text
        for text in (
            f"the technician's limit is {say_amount(said, number.unit)}" if said is not None else "",
            *say_verdicts(number),
        )
        if text
    )


def _measured(finding: Finding) -> list[str]:
    return [
        " ".join(word for word in (what, number, where) if word) + (f", {limit}" if limit else "")
        for (_, what, number, limit), where in zip(
            _number_cells(finding), (m.location or "" for m in finding.measurements), strict=True
        )
    ]


def _found(finding: Finding) -> str:
    conditions = say_conditions(finding)
    if finding.conditions:
        return f"We found: {conditions}."
    return f"{_capital(conditions)}." if conditions else ""


def _heading(finding: Finding) -> str:
    parts = (_capital(finding.component.name), say_locations(finding.locations), finding.position or "")
    return ", ".join(part for part in parts if part)


def _listed(name: str, items: tuple[str | None, ...]) -> str:
    said = ", ".join(item for item in items if item)
    return f"{name}: {said}." if said else ""


def _quoted(evidence: tuple[Evidence, ...], walkaround: Walkaround) -> str:
    if not evidence:
        return ""
    first = evidence[0]
    where = f" at {say_time(first.start_s)}" if first.start_s is not None else ""
    if where and len(walkaround.recordings) > 1:
        names = {recording.id: recording.name for recording in walkaround.recordings}
        where += f" in {names.get(first.recording, first.recording)}"
    return f"<p>The technician said{escape(where)}: <q>{escape(say_words(evidence))}</q></p>"


def _line(text: str) -> str:
    return f"<p>{escape(text)}</p>"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
