"""The vehicle's own numbers: what their form tells, for a person to confirm; never taken for heard right."""

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from narrate.judge.numbering import new_ids
from narrate.judge.trouble_codes import code_form, plain_code
from narrate.judge.vehicle_numbers import age_years, check_vin, tire_date, tire_size
from narrate.records.walkaround import Finding, Suggestion, Walkaround

KINDS = ("vehicle_number", "trouble_code", "tire_marking")
TIRES = ("tire", "spare_tire", "tire_date_code")
DATE_WORDS = ("dated", "date", "dot", "week")
YEAR_WORDS = ("in", "from", "year", "of")
"""Behind these a number is a year, not a code."""


def check_vehicle(walkaround: Walkaround, *, today: date) -> Walkaround:
    """Add what the VIN, the trouble codes and the markings of tires tell, as suggestions."""
    told = list(dict.fromkeys((*_vin(walkaround), *_codes(walkaround), *_tires(walkaround, today))))
    ids = new_ids(walkaround, "s")
    new = [
        Suggestion(id=next(ids), kind=kind, for_=finding, text=text, source=source)
        for kind, finding, text, source in told
    ]
    return walkaround.model_copy(update={"suggestions": (*walkaround.suggestions, *new)})


Told = tuple[str, str | None, str, str]
"""Kind, finding, text, source."""


def _vin(walkaround: Walkaround) -> Iterator[Told]:
    if walkaround.vehicle.vin:
        check = check_vin(walkaround.vehicle.vin)
        if check.problem:
            text = f"VIN {check.vin}: {check.problem.rstrip('.')}; read it again."
            yield KINDS[0], None, text, "49 CFR 565.15"


def _codes(walkaround: Walkaround) -> Iterator[Told]:
    for finding in _shown(walkaround):
        for code in finding.codes:
            problem = code_form(code)
            text = f"{code}: {problem.rstrip('.')}; read it again." if problem else f"{code}: {plain_code(code)}"
            yield KINDS[1], finding.id, text, "form after SAE J2012, from memory"


def _tires(walkaround: Walkaround, today: date) -> Iterator[Told]:
    for finding in _shown(walkaround):
        if finding.component.id not in TIRES:
            continue
        said = " ".join(piece.said for piece in finding.evidence)
        size = tire_size(said)
        if size:
            text = f"Tire size {size.width_mm}/{size.aspect_percent}R{size.rim_in}, as heard: check it on the sidewall."
            yield KINDS[2], finding.id, text, "form after 49 CFR 574.5 and the sidewall's own marking"
        code = _date_code(said)
        if code:
            yield KINDS[2], finding.id, f"Date code {code}: {_age(code, today)}", "49 CFR 574.5"


def _date_code(said: str) -> str | None:
    """A date code behind a word that announces one."""
    words = said.lower().replace(",", " ").split()
    for number, word in enumerate(words):
        if word in DATE_WORDS:
            for before, behind in pairwise(words[number : number + 5]):
                code = behind.strip(".")
                if tire_date(code) and before not in YEAR_WORDS:
                    return code
    return None


def _age(code: str, today: date) -> str:
    made = tire_date(code)
    assert made is not None
    if made.year is None:
        return "made before 2000."
    try:
        years = age_years(made, today)
    except ValueError as problem:
        return str(problem)
    age = f"{years} {'year' if years == 1 else 'years'}"
    return f"made in week {made.week} of {made.year}, {age} old; check it on the sidewall."


def _shown(walkaround: Walkaround) -> list[Finding]:
    return [finding for finding in walkaround.findings if finding.review.state != "dropped"]
