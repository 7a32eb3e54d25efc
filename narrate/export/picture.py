"""A picture of the vehicle from above and from below, with the findings numbered where they are."""

import math
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from pathlib import Path

from narrate.atomic import write_atomically
from narrate.export.phrases import say_conditions, say_locations, say_recommendation, say_vehicle
from narrate.export.picture_shapes import Spot, View, drawing, spots_of, text_width, wrapped
from narrate.records.walkaround import Finding, Walkaround

WIDTH = 1000.0
RADIUS = 11.0
_EDGE = 12.0
_VIEWS: dict[View, float] = {"above": 250.0, "below": 750.0}
"""Where the middle of each view lies across the picture."""
_HALF_VIEW = 240.0
_MARKS_WITHIN = 200.0
"""Marks keep this close to the middle of their view; beyond stand the words left and right."""
_NOSE = 68.0
_TOP, _BOTTOM = 62.0, 574.0
"""Marks lie between these heights; the words front and rear stand outside of them."""
_VIEWS_END = 614.0
_APART = 2 * RADIUS + 2
_STEP = 12.0
_FAR = 32.0
"""A mark moved further than this gets a line to its place."""
_SMALL, _TEXT = 12.0, 13.0
_LINE = 18.0
_LONGEST_LABEL = 150.0
_UNWRITABLE = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")
"""Characters that XML has no way to write."""

Box = tuple[float, float, float, float]
"""Left, top, right, bottom."""


@dataclass(frozen=True)
class Numbered:
    """A finding with the number it has in the picture."""

    number: int
    finding: Finding


@dataclass(frozen=True)
class Mark:
    """A numbered disc: where it lies, and where it belongs."""

    item: Numbered
    view: View
    x: float
    y: float
    home: tuple[float, float]


def write_picture(walkaround: Walkaround, path: Path) -> None:
    """Write a self-contained SVG file: no scripts, nothing fetched."""
    write_atomically(path, findings_picture(walkaround).encode("utf-8"))


def findings_picture(walkaround: Walkaround) -> str:
    """The picture itself: two views, what has no place on them, and the legend."""
    items = _shown(walkaround)
    marks, homeless = _place(items)
    strip, strip_end = _strip(homeless, _VIEWS_END)
    legend, end = _legend(items, strip_end)
    vehicle = say_vehicle(walkaround.vehicle)
    title = f"Where the findings are: {vehicle}" if vehicle else "Where the findings are"
    told = " ".join(f"{_told(item)}." for item in items) or "Nothing to show."
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {WIDTH:.0f} {end:.0f}" '
            f'width="{WIDTH:.0f}" height="{end:.0f}" font-family="Helvetica, Arial, sans-serif">',
            f"<title>{_safe(title)}</title>",
            f"<desc>A vehicle seen from above and from below, with numbered findings. {_safe(told)}</desc>",
            f'<rect width="{WIDTH:.0f}" height="{end:.0f}" fill="white"/>',
            *(_view(view) for view in _VIEWS),
            *(_leader(mark) for mark in marks if math.hypot(mark.x - mark.home[0], mark.y - mark.home[1]) > _FAR),
            *_labels(marks),
            *(_disc(mark.item, mark.x, mark.y) for mark in marks),
            strip,
            legend,
            "</svg>\n",
        )
    )


def numbers_in_picture(walkaround: Walkaround) -> dict[str, int]:
    """The number each finding has in the picture, by its id."""
    return {item.finding.id: item.number for item in _shown(walkaround)}


def _shown(walkaround: Walkaround) -> list[Numbered]:
    """Everything that is not in order and that nobody dropped, numbered in the walkaround's order."""
    shown = (f for f in walkaround.findings if f.status != "ok" and f.review.state != "dropped")
    return [Numbered(number, finding) for number, finding in enumerate(shown, start=1)]


def _told(item: Numbered) -> str:
    """`1 brake pad, front left: worn; replace`."""
    finding = item.finding
    what = ", ".join(part for part in (finding.component.name, say_locations(finding.locations)) if part)
    wrong = "; ".join(p for p in (say_conditions(finding), say_recommendation(finding.recommendation)) if p)
    return f"{item.number} {what}: {wrong}" if wrong else f"{item.number} {what}"


def _place(items: Iterable[Numbered]) -> tuple[list[Mark], list[Numbered]]:
    """The marks, moved apart, and the items that found no place on either view."""
    marks: list[Mark] = []
    homeless: list[Numbered] = []
    for item in items:
        before = len(marks)
        for spot in spots_of(item.finding):
            mark = _free(item, spot, marks)
            if mark:
                marks.append(mark)
        if len(marks) == before:
            homeless.append(item)
    return marks, homeless


def _free(item: Numbered, spot: Spot, taken: Sequence[Mark]) -> Mark | None:
    """A mark at its spot, or at the nearest free place; moved up or down rather than sideways, beside is for words."""
    middle = _VIEWS[spot.view]
    home = (middle + spot.x, _NOSE + spot.y)
    for x, y in (home, *sorted(_grid(middle), key=lambda at: (2 * (at[0] - home[0])) ** 2 + (at[1] - home[1]) ** 2)):
        if all(math.hypot(x - mark.x, y - mark.y) >= _APART for mark in taken):
            return Mark(item, spot.view, x, y, home)
    return None


def _grid(middle: float) -> list[tuple[float, float]]:
    across, down = int(2 * _MARKS_WITHIN / _STEP), int((_BOTTOM - _TOP) / _STEP)
    left = middle - _MARKS_WITHIN
    return [(left + _STEP * column, _TOP + _STEP * row) for row in range(down + 1) for column in range(across + 1)]


def _leader(mark: Mark) -> str:
    x, y = mark.home
    line = f'<line x1="{x:.0f}" y1="{y:.0f}" x2="{mark.x:.0f}" y2="{mark.y:.0f}" stroke="#444" stroke-width="0.8"/>'
    return f'{line}<circle cx="{x:.0f}" cy="{y:.0f}" r="2" fill="#444"/>'


def _disc(item: Numbered, x: float, y: float) -> str:
    size = _SMALL if item.number < 100 else 9
    return (
        f'<g class="mark"><circle cx="{x:.1f}" cy="{y:.1f}" r="{RADIUS:.0f}" fill="white" stroke="black" '
        f'stroke-width="1.5"/><text x="{x:.1f}" y="{y + size / 3:.1f}" font-size="{size:.0f}" font-weight="bold" '
        f'text-anchor="middle">{item.number}</text></g>'
    )


def _labels(marks: Sequence[Mark]) -> list[str]:
    """The part's name beside its mark, wherever it covers no mark and no other name."""
    taken: list[Box] = [_around(mark.x, mark.y) for mark in marks]
    for middle in _VIEWS.values():
        taken += [(middle + x - 20, 305, middle + x + 20, 330) for x in (-_HALF_VIEW + 20, _HALF_VIEW - 20)]
    labels = []
    for mark in marks:
        label = _label(mark, taken)
        if label:
            box, words = label
            taken.append(box)
            labels.append(_haloed(box[0] + 2, mark.y + _SMALL / 3, words))
    return labels


def _label(mark: Mark, taken: Sequence[Box]) -> tuple[Box, str] | None:
    middle = _VIEWS[mark.view]
    outward = (-1, 1) if mark.x < middle else (1, -1)
    for words in _shorter(mark.item.finding.component.name):
        width = text_width(words, _SMALL) + 4
        for side in outward:
            left = mark.x + RADIUS + 1 if side > 0 else mark.x - RADIUS - 1 - width
            box = (left, mark.y - 8, left + width, mark.y + 8)
            inside = box[0] >= middle - _HALF_VIEW and box[2] <= middle + _HALF_VIEW
            if inside and not any(_overlap(box, other) for other in taken):
                return box, words
    return None


def _shorter(name: str) -> list[str]:
    """The name, then ever fewer of its first words: two at least, as one ("oil", "brake") could mislead."""
    words = name.split()
    shorter = (" ".join(words[:count]) for count in range(len(words), min(len(words), 2) - 1, -1) if count)
    return [some for some in shorter if text_width(some, _SMALL) <= _LONGEST_LABEL]


def _around(x: float, y: float) -> Box:
    return x - RADIUS, y - RADIUS, x + RADIUS, y + RADIUS


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _haloed(x: float, y: float, words: str) -> str:
    # Two texts, because not every program that draws SVG knows how to draw the outline first.
    at = f'x="{x:.1f}" y="{y:.1f}" font-size="{_SMALL:.0f}"'
    halo = f'<text {at} fill="white" stroke="white" stroke-width="4" stroke-linejoin="round">{_safe(words)}</text>'
    return f"{halo}<text {at}>{_safe(words)}</text>"


def _view(view: View) -> str:
    middle = _VIEWS[view]
    words = (
        (middle, 22.0, f"seen from {view}", 16),
        (middle, 48.0, "front", _TEXT),
        (middle, _BOTTOM + RADIUS + 16, "rear", _TEXT),
        (middle - _HALF_VIEW + 20, 322.0, "left" if view == "above" else "right", _TEXT),
        (middle + _HALF_VIEW - 20, 322.0, "right" if view == "above" else "left", _TEXT),
    )
    texts = (
        f'<text class="side" x="{x:.0f}" y="{y:.0f}" font-size="{size:.0f}" font-weight="bold" fill="#444" '
        f'text-anchor="middle">{said}</text>'
        for x, y, said, size in words
    )
    place = f'<g transform="translate({middle:.0f} {_NOSE:.0f})">'
    return f'<g class="{view}">\n{place}\n{drawing(view)}\n</g>\n' + "\n".join(texts) + "\n</g>"


def _strip(items: Sequence[Numbered], top: float) -> tuple[str, float]:
    """What has no place on the views, in rows; and where the strip ends."""
    if not items:
        return "", top
    x, y = 2 * _EDGE + RADIUS, top + 44
    parts = []
    for item in items:
        words = next(iter(_shorter(item.finding.component.name)), "")
        wide = RADIUS + 4 + text_width(words, _SMALL) + 2 * RADIUS
        if x + wide > WIDTH - 2 * _EDGE:
            x, y = 2 * _EDGE + RADIUS, y + 30
        parts += [_disc(item, x, y), _haloed(x + RADIUS + 4, y + _SMALL / 3, words)]
        x += wide + RADIUS
    height = y + 20 - top
    frame = (
        f'<rect x="{_EDGE:.0f}" y="{top:.0f}" width="{WIDTH - 2 * _EDGE:.0f}" height="{height:.0f}" fill="none" '
        f'stroke="#777"/><text x="{2 * _EDGE:.0f}" y="{top + 20:.0f}" font-size="{_TEXT:.0f}" font-weight="bold" '
        'fill="#444">somewhere on the vehicle</text>'
    )
    return "\n".join(('<g class="strip">', frame, *parts, "</g>")), top + height


def _legend(items: Sequence[Numbered], top: float) -> tuple[str, float]:
    """What the numbers mean, in up to three columns; and where the picture ends."""
    count = 1 if len(items) <= 4 else 2 if len(items) <= 14 else 3
    across = (WIDTH - 2 * _EDGE) / count
    entries = [(item.number, wrapped(_told(item).partition(" ")[2], _TEXT, across - 48)) for item in items]
    each = math.ceil(sum(len(lines) for _, lines in entries) / count)
    column, row, deepest = 0, 0, 1
    texts = []
    for number, lines in entries:
        if row >= each:
            column, row = column + 1, 0
        x = _EDGE + column * across
        y = top + 34 + row * _LINE
        texts.append(
            f'<text class="number" x="{x + 26:.0f}" y="{y:.0f}" text-anchor="end" font-weight="bold">{number}</text>'
        )
        texts += [
            f'<text x="{x + 34:.0f}" y="{y + i * _LINE:.0f}">{_safe(line)}</text>' for i, line in enumerate(lines)
        ]
        row += len(lines)
        deepest = max(deepest, row)
    if not items:
        texts = [f'<text x="{WIDTH / 2:.0f}" y="{top + 34:.0f}" text-anchor="middle">Nothing to show.</text>']
    return "\n".join((f'<g class="legend" font-size="{_TEXT:.0f}">', *texts, "</g>")), top + 34 + deepest * _LINE


def _safe(text: str) -> str:
    return escape(_UNWRITABLE.sub(" ", text))
