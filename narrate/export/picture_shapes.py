"""The line drawing of a vehicle for the picture of findings, and where on it a part is shown; and how wide words are.

Everything is in the vehicle's own measure: x 0 in its middle, y 0 at the nose, nose up, 500 long.
"""

import unicodedata
from dataclasses import dataclass, replace
from typing import Literal

from narrate.records.walkaround import Component, Finding

View = Literal["above", "below"]
_LEFT_IS: dict[View, int] = {"above": -1, "below": 1}
"""Left and right are the vehicle's own: nose up, what is left from above is right from below."""


@dataclass(frozen=True)
class Spot:
    """A place on one of the two views."""

    view: View
    x: float
    y: float


@dataclass(frozen=True)
class Zone:
    """Where a kind of part sits: how far to the side, how far back at each end, and where without a place."""

    view: View
    side: float
    front: float
    middle: float
    rear: float
    rest: tuple[float, float] | None = None


_BAY = Zone("above", 48, 40, 85, 130, (0, 85))
_BAY_OR_TAIL = replace(_BAY, rear=445)
_BULKHEAD = replace(_BAY, front=130, middle=130, rest=(0, 130))
_CABIN = Zone("above", 38, 240, 278, 325, (0, 278))
_DASH = replace(_CABIN, front=218, middle=218, rest=(0, 218))
_SHELL = Zone("above", 90, 16, 278, 482)
_DOORS = replace(_SHELL, front=240, rear=318)
_GLASS = Zone("above", 45, 182, 182, 374, (0, 182))
_MIRRORS = Zone("above", 104, 180, 180, 374, None)
_TIRES = Zone("above", 98, 95, 250, 400)
_HUBS = Zone("below", 96, 95, 250, 400)
_BRAKES = Zone("below", 76, 95, 250, 400)
_SUSPENSION = Zone("below", 56, 70, 250, 425)
_ZONES = {
    **dict.fromkeys(("engine", "cooling", "ignition", "intake"), _BAY),
    **dict.fromkeys(("electrical", "hvac"), _BAY_OR_TAIL),
    **dict.fromkeys(("interior", "restraints"), _CABIN),
    "instruments": _DASH,
    "brakes": _BRAKES,
    "suspension": _SUSPENSION,
    "steering": Zone("below", 58, 124, 124, 400, (0, 124)),
    "driveline": Zone("below", 36, 95, 285, 400, (0, 285)),
    "transmission": Zone("below", 22, 145, 170, 195, (0, 170)),
    "exhaust": Zone("below", 45, 150, 255, 445, (45, 255)),
    "fuel": Zone("below", 40, 310, 335, 360, (-42, 335)),
    "lubrication": Zone("below", 28, 48, 75, 105, (0, 75)),
    "hybrid": Zone("below", 50, 170, 255, 340, (0, 255)),
    "towing": Zone("below", 40, 10, 250, 490, (0, 490)),
    "vehicle": Zone("below", 86, 25, 250, 475),
}
# Parts that sit elsewhere than the rest of their system, by a word of their id; the first that fits counts.
_BY_WORD: dict[str, tuple[tuple[str, Zone], ...]] = {
    "body": (
        ("defroster", replace(_GLASS, rest=(0, 374))),
        ("windshield wiper wipers washer", _GLASS),
        ("rearview", replace(_GLASS, rest=(0, 205))),
        ("mirror", _MIRRORS),
        ("hood grille", replace(_SHELL, middle=85, rest=(0, 85))),
        ("roof sunroof", replace(_SHELL, rest=(0, 278))),
        ("trunk tailgate liftgate license", replace(_SHELL, middle=440, rest=(0, 440))),
        ("door doors window", _DOORS),
    ),
    "lighting": (
        ("dome map vanity glove switch relay", _CABIN),
        ("headlight low high fog hid daytime", replace(_SHELL, middle=16, rest=(0, 16))),
        ("tail brake reverse license trunk", replace(_SHELL, middle=482, rest=(0, 482))),
        ("side", _DOORS),
    ),
    "brakes": (("fluid master booster reservoir", _BULKHEAD), ("pedal lever", _DASH)),
    "steering": (("column", _DASH),),
    "fuel": (("injector injectors rail", _BAY),),
}
_HUB_WORDS = frozenset({"bearing", "seal", "race", "hub", "grease"})


def spots_of(finding: Finding) -> tuple[Spot, ...]:
    """Where a finding is shown, each place once; none for one that is only somewhere on the vehicle."""
    zone = _zone_of(finding.component, finding.locations)
    places = [_spot(zone, frozenset(location.split())) for location in finding.locations or ("",)]
    return tuple(dict.fromkeys(spot for spot in places if spot))


def _zone_of(component: Component, locations: tuple[str, ...]) -> Zone:
    words = frozenset(component.id.split("_"))
    if component.system == "wheels":
        # Without its corner a tire in the view from above would stand on the hood; below, on its axle.
        at_corner = all(_end(frozenset(place.split())) and _side(frozenset(place.split())) for place in locations)
        return _TIRES if at_corner and not words & _HUB_WORDS else _HUBS
    if component.id == "steering_wheel":
        return _DASH
    for named, zone in _BY_WORD.get(component.system, ()):
        if words & set(named.split()):
            return zone
    return _ZONES.get(component.system, _SHELL)


def _spot(zone: Zone, tokens: frozenset[str]) -> Spot | None:
    end, side = _end(tokens), _side(tokens)
    if not end and not side:
        return Spot(zone.view, *zone.rest) if zone.rest else None
    y = {"front": zone.front, "rear": zone.rear, None: zone.middle}[end]
    if side:
        away = _LEFT_IS[zone.view] if side == "left" else -_LEFT_IS[zone.view]
        return Spot(zone.view, away * zone.side, y)
    return Spot(zone.view, zone.rest[0] if zone.rest else 0, y)


def _end(tokens: frozenset[str]) -> str | None:
    """The end named; both ends at once name none."""
    return next(iter(tokens & {"front", "rear"})) if len(tokens & {"front", "rear"}) == 1 else None


def _side(tokens: frozenset[str]) -> str | None:
    return next(iter(tokens & {"left", "right"})) if len(tokens & {"left", "right"}) == 1 else None


_BODY = (
    "M-60 8 Q0 -8 60 8 Q88 14 93 60 L95 150 Q91 260 95 350 L92 455 Q88 488 58 493 "
    "Q0 503 -58 493 Q-88 488 -92 455 L-95 350 Q-91 260 -95 150 L-93 60 Q-88 14 -60 8 Z"
)


def drawing(view: View) -> str:
    """The vehicle seen from above or from below, nose up."""
    return _above() if view == "above" else _below()


def _above() -> str:
    lines = (
        "M-76 170 Q0 138 76 170 L64 208 Q0 190 -64 208 Z",  # windshield
        "M-64 352 Q0 364 64 352 L74 388 Q0 404 -74 388 Z",  # rear window
        "M-64 208 Q-68 280 -64 352 M64 208 Q68 280 64 352",  # edges of the roof
        "M-76 170 Q-88 280 -74 388 M76 170 Q88 280 74 388",  # side windows
        "M-93 282 L-67 282 M93 282 L67 282",  # between the doors
        "M-76 166 Q-76 70 -62 34 Q0 20 62 34 Q76 70 76 166",  # hood
        "M-74 392 L-72 470 Q0 482 72 470 L74 392",  # trunk
        "M-84 24 Q-72 14 -50 12 L-58 26 Q-74 30 -86 44 Z M84 24 Q72 14 50 12 L58 26 Q74 30 86 44 Z",  # headlights
        "M-88 470 L-76 474 L-56 490 M88 470 L76 474 L56 490",  # rear lights
    )
    return "\n".join(
        (
            *(_box(x, y, 20, 62, 6, "#ddd") for x in (-103, 83) for y in (64, 369)),
            _line(_BODY, fill="#fff", width=2, ink="#444"),
            *(_line(line) for line in lines),
            *(f'<ellipse cx="{x}" cy="180" rx="9" ry="6" fill="#fff" stroke="#777"/>' for x in (-101, 101)),
        )
    )


def _below() -> str:
    return "\n".join(
        (
            _line(_BODY, fill="#fff", width=2, ink="#444"),
            _line("M-50 20 L-50 480 M50 20 L50 480 M-50 220 L50 220 M-50 300 L50 300", ink="#bbb"),  # frame
            _line("M-84 95 L84 95 M-84 400 L84 400", width=5, ink="#999"),  # axles
            _line("M-84 112 L-60 124 L60 124 L84 112", width=2),  # steering rack and tie rods
            _line("M-84 80 L-46 62 M84 80 L46 62 M-84 415 L-46 432 M84 415 L46 432", width=2),  # arms
            _line("M-4 200 L-4 388 M4 200 L4 388"),  # drive shaft
            _box(-36, 36, 72, 78, 6, "#eee"),  # engine
            _box(-26, 50, 52, 50, 4, "#f8f8f8"),  # oil pan
            _line("M-30 134 L30 134 L18 204 L-18 204 Z", fill="#eee"),  # transmission
            '<circle cx="0" cy="400" r="17" fill="#eee" stroke="#777"/>',  # differential
            _box(-70, 306, 56, 58, 8, "#eee"),  # fuel tank
            _line("M36 90 Q45 96 45 120 L45 380 Q45 400 60 408 L60 492", width=4, ink="#aaa"),  # exhaust
            _box(37, 168, 16, 38, 8, "#f8f8f8"),
            _box(47, 424, 26, 50, 8, "#f8f8f8"),
            *(_box(x, y, 22, 62, 6, "#ddd") for x in (-103, 81) for y in (64, 369)),
        )
    )


def _line(path: str, *, fill: str = "none", width: float = 1.2, ink: str = "#777") -> str:
    return f'<path d="{path}" fill="{fill}" stroke="{ink}" stroke-width="{width}"/>'


def _box(x: float, y: float, width: float, height: float, corner: float, fill: str) -> str:
    size = f'x="{x}" y="{y}" width="{width}" height="{height}" rx="{corner}"'
    return f'<rect {size} fill="{fill}" stroke="#777" stroke-width="1.2"/>'


def text_width(words: str, size: float) -> float:
    """About how wide a text is drawn, rather too wide than too narrow: the reader's font is not known."""
    return size * sum(_letter_width(letter) for letter in words)


def _letter_width(letter: str) -> float:
    if letter in "mMW%@—…" or unicodedata.east_asian_width(letter) in "WF":
        return 1.0
    if letter in "fijl.,:;'|()[] ":
        return 0.4
    return 0.8 if letter.isupper() or letter == "w" or letter > "\u024f" else 0.61


def wrapped(text: str, size: float, width: float) -> list[str]:
    """The text in lines no wider than `width`; a word too long for a line is cut."""
    lines = [""]
    for word in text.split():
        joined = f"{lines[-1]} {word}".lstrip()
        if text_width(joined, size) <= width:
            lines[-1] = joined
            continue
        lines += [""] if lines[-1] else []
        for letter in word:
            if text_width(lines[-1] + letter, size) > width:
                lines.append("")
            lines[-1] += letter
    return lines
