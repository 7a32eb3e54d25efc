"""A day's orders from a CSV, added to the store: those that are there already are passed over."""

from pathlib import Path

from narrate.errors import UsageError
from narrate.store.engine import Store
from narrate.store.open_orders import open_orders
from narrate.store.orders import add_orders, numbers_taken
from narrate.work.day_intake import WHO
from narrate.work.order_csv import read_orders


def add_new_orders(store: Store, file: Path) -> int:
    """Add the orders of a CSV that the store does not have, by number, else by all that is told; return how many.

    Raises UsageError for a file with a mistake; then none is added.
    """
    try:
        content = file.read_bytes()
    except OSError as error:
        message = f"{file} cannot be read ({error.strerror}); give the day's orders as a CSV."
        raise UsageError(message) from error
    taken = numbers_taken(store)
    known = [each.order for each in open_orders(store) if not each.number]
    new = [
        order
        for order in read_orders(content, file.name)
        if (order.number not in taken if order.number else order not in known)
    ]
    return len(add_orders(store, new, who=WHO))
