"""What was offered each month, drawn: authorized, declined and waiting one upon the other, told apart by pattern."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from html import escape

from narrate.export.sums_said import say_sum

HEIGHT, TOP, BOTTOM, LEFT = 260, 16, 44, 96
STEP, BAR = 64, 40
FEWEST = 6
TICKS = 4
PARTS = (("authorized", "full"), ("declined", "hatched"), ("waiting", "empty"))
"""From the ground up, each with how it is filled."""
PATTERNS = (
    '<pattern id="hatched" width="6" height="6" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V6" stroke="currentColor" stroke-width="2"/></pattern>'
)
FILL = {"full": "currentColor", "hatched": "url(#hatched)", "empty": "none"}


@dataclass(frozen=True, kw_only=True)
class Month:
    """Sums of one month in one currency."""

    name: str
    """`2026-11`"""
    authorized: Decimal = Decimal(0)
    declined: Decimal = Decimal(0)
    waiting: Decimal = Decimal(0)

    @property
    def offered(self) -> Decimal:
        """All three."""
        return self.authorized + self.declined + self.waiting


def offers_picture(months: Sequence[Month], currency: str) -> str:
    """The drawing as SVG, in the ink of the page; what it shows stands in its description too."""
    most = max((month.offered for month in months), default=Decimal(0))
    top = _round_up(most)
    width = LEFT + STEP * max(len(months), FEWEST) + 8
    height = HEIGHT + TOP + BOTTOM
    told = "; ".join(
        f"{m.name}: offered {say_sum(m.offered, currency)}, authorized {say_sum(m.authorized, currency)}, "
        f"declined {say_sum(m.declined, currency)}"
        for m in months
    )
    inside = [
        f"<title>Offered, authorized and declined, by month</title><desc>{escape(told)}</desc><defs>{PATTERNS}</defs>",
        *_scale(top, currency, width),
        *(shape for place, month in enumerate(months) for shape in _bar(month, place, top)),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {width} {height}" width="{width}" '
        f'height="{height}" font-size="13" fill="currentColor">{"".join(inside)}</svg>'
    )


def legend(part: str) -> str:
    """A small square filled as a part of the bars is."""
    fill = FILL[dict(PARTS)[part]]
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="20" height="20" viewBox="0 0 20 20" aria-hidden="true">'
        f'<rect x="2" y="2" width="16" height="16" fill="{fill}" stroke="currentColor" stroke-width="1.5"/></svg>'
    )


def _scale(top: Decimal, currency: str, width: int) -> Iterator[str]:
    for tick in range(TICKS + 1):
        value = top * tick / TICKS
        y = _y(value, top)
        yield f'<path d="M{LEFT} {y}H{width}" stroke="currentColor" stroke-opacity="{0.25 if tick else 1}"/>'
        yield f'<text x="{LEFT - 8}" y="{y + 4}" text-anchor="end">{escape(say_sum(value, currency))}</text>'


def _bar(month: Month, place: int, top: Decimal) -> Iterator[str]:
    x = LEFT + place * STEP + (STEP - BAR) // 2
    ground = Decimal(0)
    for part, how in PARTS:
        amount: Decimal = getattr(month, part)
        if not amount:
            continue
        above, below = _y(ground + amount, top), _y(ground, top)
        yield (
            f'<rect x="{x}" y="{above}" width="{BAR}" height="{below - above}" fill="{FILL[how]}" '
            'stroke="currentColor" stroke-width="1.5"/>'
        )
        ground += amount
    yield f'<text x="{x + BAR // 2}" y="{TOP + HEIGHT + 20}" text-anchor="middle">{escape(month.name)}</text>'


def _y(value: Decimal, top: Decimal) -> int:
    return TOP + HEIGHT - round(HEIGHT * value / top) if top else TOP + HEIGHT


def _round_up(most: Decimal) -> Decimal:
    """The next of 1, 2, 4, 8 times a power of ten, so that the scale has plain numbers."""
    if most <= 0:
        return Decimal(100)
    power = Decimal(10) ** most.adjusted()
    return next(power * times for times in (1, 2, 4, 8, 10) if power * times >= most)
