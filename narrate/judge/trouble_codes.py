"""Trouble codes by their form (SAE J2012, the same as ISO 15031-6): what is wrong with one, and what one is about.

The standard itself was not read: which ranges are whose is from memory and from service texts.
"""

import re

LETTERS = "PCBU"
"""In the order of the top two bits: 00 P, 01 C, 10 B, 11 U."""
SYSTEMS = {
    "P": "Engine and transmission control",
    "C": "Chassis: brakes, steering and suspension",
    "B": "Body: airbags, comfort, lights and doors",
    "U": "Network between the control units",
}
"""From memory."""
COMMON, MAKERS = "a code common to all makers", "a code of the maker's own"
SHARED = "a code that may be common or the maker's own"
OWNERS = {"0": COMMON, "1": MAKERS, "2": MAKERS, "3": SHARED}
"""By the second character; P2 alone of the 2s is common. The 1 by service texts, the rest from memory."""
AREAS = {
    "0": "fuel, air and emission control",
    "1": "fuel and air",
    "2": "fuel and air",
    "3": "ignition or misfire",
    "4": "emission control",
    "5": "speed, idle and other inputs",
    "6": "computer and its outputs",
    "7": "transmission",
    "8": "transmission",
    "9": "transmission",
}
"""What the third character of a common P code stands for; from memory."""
HYBRID = {"P0A": "hybrid or electric drive", "P0B": "hybrid or electric drive", "P0C": "hybrid or electric drive"}
"""From memory."""
LENGTH = 5


def code_form(code: str) -> str | None:
    """None where the form is right, else one sentence on what is wrong: nothing is filled in or put right."""
    code = _tidy(code)
    if not code:
        return "There is no code."
    if code[0] in "0123456789":
        return "The letter P, C, B or U is missing at the front."
    if code[0] not in LETTERS:
        return f"It begins with {code[0]}, but a code begins with P, C, B or U."
    taken = [(place, each) for place, each in enumerate(code, start=1) if place > 1 and each in "OI"]
    if taken:
        place, each = taken[0]
        return f"Place {place} has the letter {each} where the digit {'0' if each == 'O' else '1'} may be meant."
    if len(code) != LENGTH:
        kind = "a digit is missing" if len(code) == LENGTH - 1 else f"a code has {LENGTH}"
        return f"It has {len(code)} character{'s' * (len(code) != 1)}: {kind}."
    if code[1] not in "0123":
        return f"The second character is {code[1]}, but it is never other than 0, 1, 2 or 3."
    wrong = next((each for each in code[2:] if each not in "0123456789ABCDEF"), None)
    return f"It has {wrong} among the last three characters, which are 0-9 or A-F." if wrong else None


def _tidy(code: str) -> str:
    return re.sub(r"\s", "", code).upper()


def plain_code(code: str) -> str:
    """What a code is about, in one sentence; the exact meaning is the maker's to tell."""
    code = _right(code)
    common_p = code[:2] in ("P0", "P2")
    owner = COMMON if common_p else OWNERS[code[1]]
    area = (AREAS.get(code[2]) if common_p else None) or HYBRID.get(code[:3])
    return f"{SYSTEMS[code[0]]} ({code[0]}), {owner}{f', about {area}' if area else ''}."


def to_word(code: str) -> int:
    """A code as two bytes: two bits of letter, two of the second character, then three hex digits."""
    code = _right(code)
    return LETTERS.index(code[0]) << 14 | int(code[1]) << 12 | int(code[2:], 16)


def from_word(word: int) -> str:
    """The code that two bytes stand for."""
    if not 0 <= word <= 0xFFFF:
        problem = f"{word} does not fit into two bytes."
        raise ValueError(problem)
    return f"{LETTERS[word >> 14]}{word >> 12 & 3}{word & 0xFFF:03X}"


def _right(code: str) -> str:
    problem = code_form(code)
    if problem:
        raise ValueError(problem)
    return _tidy(code)
