"""Numbers read off a car: the VIN, a tire's size and the date code on its sidewall.

Rules by 49 CFR 565.13 and 565.15 (VIN) and 49 CFR 574.5 (tire date code); what is from memory says so.
"""

import re
from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal

VIN_LENGTH = 17
LETTER_VALUES = {
    letter: value
    for value, letters in enumerate(("AJ", "BKS", "CLT", "DMU", "ENV", "FW", "GPX", "HY", "RZ"), start=1)
    for letter in letters
}
"""49 CFR 565.15(c)(1) Table III; a digit counts as itself."""
WEIGHTS = (8, 7, 6, 5, 4, 3, 2, 10, 0, 9, 8, 7, 6, 5, 4, 3, 2)
"""49 CFR 565.15 Table IV: the check digit itself, at the ninth place, weighs nothing."""
YEAR_CODES = "ABCDEFGHJKLMNPRSTVWXY123456789"
"""At the tenth place, from 1980 and again from 2010 on: never I, O, Q, U, Z or 0."""
FIRST_YEAR, CYCLE = 1980, 30
NORTH_AMERICA = "12345"


@dataclass(frozen=True)
class VinCheck:
    """What can be told of a VIN from its own characters."""

    vin: str
    """In upper case, without blanks and hyphens."""
    problem: str | None
    """One sentence, or None where nothing is wrong by form or check digit."""
    certain: bool
    """False where only a check digit speaks that need not be one: then a problem is a warning, no error."""
    years: tuple[int, ...]
    """The model years the tenth place can stand for, earliest first; outside North America it may stand for none."""


def check_vin(vin: str, *, light: bool = True) -> VinCheck:
    """Check length, characters, check digit and year code.

    A right check digit is no proof that the number was heard right: letters of one value stand in for each other
    (P and G, T and C, E and V, A and J, H and 8), so a spoken VIN is always shown to be confirmed.
    A first character outside 1-5 is another part of the world, where the ninth place need not be a check digit;
    a car built there for North America has one all the same (from memory), so the warning is worth reading.
    `light`: a car, or up to 10,000 lb, whose seventh place tells the two runs of thirty years apart.
    """
    vin = re.sub(r"[\s‐‑–—−-]", "", vin).upper()
    problem = _wrong_length(vin) or _wrong_characters(vin)
    if problem:
        return VinCheck(vin, problem, certain=True, years=())
    american = vin[0] in NORTH_AMERICA
    years = model_years(vin[9], vin[6] if american and light else None)
    problem = _wrong_check_digit(vin)
    if not problem and american and not years:
        problem = f"Place 10 has {vin[9]}, which stands for no model year."
    return VinCheck(vin, problem, certain=american, years=years)


def _wrong_length(vin: str) -> str | None:
    if len(vin) == VIN_LENGTH:
        return None
    return f"It has {len(vin)} character{'s' * (len(vin) != 1)}, but a VIN has {VIN_LENGTH} since model year 1981."


def _wrong_characters(vin: str) -> str | None:
    wrong = [(place, each) for place, each in enumerate(vin, start=1) if not re.fullmatch("[A-HJ-NPR-Z0-9]", each)]
    if not wrong:
        return None
    places = " and ".join(f"place {place} has {each}" for place, each in wrong)
    if all(each in "IOQ" for _, each in wrong):
        return f"{places[0].upper()}{places[1:]}, but a VIN never has the letters I, O and Q."
    return f"{places[0].upper()}{places[1:]}, but a VIN has only digits and letters other than I, O and Q."


def _wrong_check_digit(vin: str) -> str | None:
    due, stands = check_digit(vin), vin[8]
    return None if due == stands else f"The check digit at place 9 should be {due} but is {stands}."


def check_digit(vin: str) -> str:
    """The ninth place as the other sixteen want it.

    By the remainder, not by the regulation's decimal table, which prints .634 for 7/11.
    """
    total = sum(weight * _value(each) for weight, each in zip(WEIGHTS, vin, strict=True))
    return "0123456789X"[total % 11]


def _value(character: str) -> int:
    return LETTER_VALUES[character] if character in LETTER_VALUES else int(character)


def model_years(code: str, seventh: str | None) -> tuple[int, ...]:
    """The years a tenth place stands for: both runs, or the one a seventh place tells (49 CFR 565.15(b))."""
    if code not in YEAR_CODES:
        return ()
    first = FIRST_YEAR + YEAR_CODES.index(code)
    both = (first, first + CYCLE)
    if seventh is None:
        return both
    return both[:1] if seventh.isdigit() else both[1:]


MM_PER_INCH = Decimal("25.4")
_SIZE = re.compile(
    r"""
    (?<![\w$£€\#/+−–-]) (?<!\d[.,:])
    (?:(?P<service>P|LT)[ ]?)?
    (?P<width>\d{3})
    (?P<first>[ ]?/[ ]?|[ ]|-|)
    (?P<aspect>\d{2})
    (?P<second>[ ]?/[ ]?|[ ]|-|)
    (?P<build>Z?[ ]?R[ -]?)?
    (?P<rim>\d{2}(?:\.5)?)
    (?!\d) (?![.,:/]\d)
    """,
    re.VERBOSE | re.IGNORECASE,
)
_NO_SIZE_BEFORE = re.compile(r"(?:[$£€#]|\d)[ ]$")
_NO_SIZE_AFTER = re.compile(r"(?!s\b)\w|-\d|[ ]?[%£€]|[ ]\d\d+(?![\da-z])|[ ](?:dollars?|bucks|cents?|percent)\b", re.I)
"""What shows that three bare numbers are a phone number or a price, rather than a size."""


@dataclass(frozen=True)
class TireSize:
    """A size as it stands on the sidewall."""

    width_mm: int
    aspect_percent: int
    rim_in: Decimal
    service: str | None = None
    """"P" passenger, "LT" light truck, or not given."""

    @property
    def sidewall_mm(self) -> Decimal:
        """The height of the sidewall, exact."""
        return Decimal(self.width_mm * self.aspect_percent) / 100

    @property
    def overall_mm(self) -> Decimal:
        """The outer diameter: two sidewalls and the rim, exact."""
        return 2 * self.sidewall_mm + self.rim_in * MM_PER_INCH


def tire_size(text: str) -> TireSize | None:
    """The first size in a text, written ("P215/65R15") or as a recognizer gives it ("225 45 17"), or None.

    Three bare numbers count only where no further number stands next to them and nothing makes them a price;
    the numbers must be ones that sizes have (common practice, no source).
    """
    text = re.sub(r"[^\S\n]", " ", text)
    for match in _SIZE.finditer(text):
        size = TireSize(
            width_mm=int(match["width"]),
            aspect_percent=int(match["aspect"]),
            rim_in=Decimal(match["rim"]),
            service=match["service"].upper() if match["service"] else None,
        )
        if _is_a_size(size) and _is_meant(match, text):
            return size
    return None


def _is_a_size(size: TireSize) -> bool:
    width = 125 <= size.width_mm <= 355 and size.width_mm % 10 == 5
    return width and 25 <= size.aspect_percent <= 95 and size.aspect_percent % 5 == 0 and 10 <= size.rim_in <= 24


def _is_meant(match: re.Match[str], text: str) -> bool:
    """Whether an R, a slash or the service marks it as a size, or at least nothing speaks against one."""
    if match["build"]:
        return True
    if not match["first"] or not match["second"]:
        return False
    if match["service"] or "/" in match["first"]:
        return True
    bare = not match["rim"].endswith(".5")
    return bare and not _NO_SIZE_BEFORE.search(text[: match.start()]) and not _NO_SIZE_AFTER.match(text, match.end())


@dataclass(frozen=True)
class TireDate:
    """When a tire was made, as far as its code tells."""

    week: int
    year: int | None
    """None: before 2000, the decade is not told."""


def tire_date(code: str) -> TireDate | None:
    """The week and year of a date code, the last figures of the TIN; None where it is no code.

    Four digits are 2000 or later; three are older, of a decade that is never guessed. Weeks 01-53 (from memory).
    """
    code = code.strip()
    if not re.fullmatch("[0-9]{3,4}", code) or not 1 <= int(code[:2]) <= 53:
        return None
    return TireDate(week=int(code[:2]), year=2000 + int(code[2:]) if len(code) == 4 else None)


def age_years(made: TireDate, today: date) -> int:
    """Whole years since the Monday of that many weeks after January 1.

    Approximate to a week: the code counts full weeks of the calendar year, which are not the ISO weeks.
    """
    if made.year is None:
        problem = "A three-digit date code is from before 2000 and does not tell the decade."
        raise ValueError(problem)
    counted = date(made.year, 1, 1) + timedelta(weeks=made.week)
    monday = counted - timedelta(days=counted.weekday())
    if monday > today:
        problem = f"Week {made.week} of {made.year} is still to come, so the date code must have been misread."
        raise ValueError(problem)
    return today.year - monday.year - ((today.month, today.day) < (monday.month, monday.day))
