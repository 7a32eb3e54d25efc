"""What to work with: options over the order, the order over the settings."""

from pathlib import Path
from typing import NamedTuple

from narrate.records.order import Order
from narrate.settings import Settings, load_settings
from narrate.work.order_file import read_order


class Chosen(NamedTuple):
    """Settings and order with the options applied."""

    settings: Settings
    order: Order | None


def choose(
    *,
    market: str | None = None,
    drive_side: str | None = None,
    model: str | None = None,
    device: str | None = None,
    order_file: Path | None = None,
) -> Chosen:
    """Return settings and order; None leaves a thing to the order, and then to the shop's settings."""
    settings = load_settings()
    order = read_order(order_file) if order_file else None
    given = {
        "market": market or (order and order.market),
        "drive_side": drive_side or (order and order.drive_side),
        "model": model,
        "device": device,
    }
    settings = settings.model_copy(update={key: value for key, value in given.items() if value})
    if order:
        # The order must not contradict an option, which was meant for this very run.
        order = order.model_copy(update={"market": settings.market, "drive_side": settings.driver_sits})
    return Chosen(settings, order)
