"""A page with a small price book and a signed walk-round, for the tests of estimates."""

from decimal import Decimal
from pathlib import Path
from typing import Any

from whole_page import Page

from narrate.records.order import Customer, Order
from narrate.records.price_book import Book, LaborRate, Operation, Part, TaxRule
from narrate.store.books import keep_book
from narrate.store.orders import add_order, attach

D = Decimal
SAID = "Front pads are worn out, replace them. Rear shocks are leaking, replace both. Air filter looks okay."
PADS = Operation(key="pads", component="brake_pad", action="replace", per="axle", hours=D("1.2"))
NEW = Part(key="pads.new", component="brake_pad", per="axle", text="Brake pads, set", price=D("80.00"))
USED = Part(key="pads.used", component="brake_pad", per="axle", text="Pads, used", price=D("35.00"), part_is="used")
BOOK = Book(
    currency="USD",
    operations=(PADS,),
    parts=(NEW, USED),
    rates=(LaborRate(name="standard", price=D(100)),),
    taxes=(TaxRule(name="Sales tax", percent=D(10), on=("part",)),),
)


class Shop(Page):
    """The page with its book; pads can be priced with it (200.00, used 155.00), shocks cannot."""

    def __init__(self, folder: Path, *, book: Book | None = BOOK) -> None:
        super().__init__(folder)
        if book is not None:
            keep_book(self.store, book, who="Ana")

    def signed(self, *texts: str, customer: str = "Joan Doe") -> str:
        """A walk-round that is checked and signed, of an order with a customer."""
        id_ = self.add(*texts or (SAID,))
        told = Customer(name=customer, phone="555 0100", email="joan@example.org")
        visit = add_order(self.store, Order(number=f"n-{id_}", customer=told), who="Ana")
        attach(self.store, id_, visit, who="Ana")
        self.settle(id_)
        return id_

    def settle(self, id_: str) -> None:
        """Confirm and settle whatever waits, and sign."""
        while blocks := self.get(f"/api/walkarounds/{id_}")["view"]["blocks"]:
            first = blocks[0]
            if first["kind"] == "finding":
                self.change(id_, "confirm", findings=[first["about"]])
            else:
                decided = "nothing_in_it" if first["kind"] == "unplaced" else "not_looked_at"
                self.change(id_, "decide", about=first["about"], decided=decided, why=None)
        self.change(id_, "sign")

    def estimate(self, id_: str | None = None) -> str:
        """The estimate of a walk-round, made as its button does."""
        answer = self.client.post(f"/walkarounds/{id_ or self.signed()}/estimate")
        assert answer.status_code == 303, answer.text
        return str(answer.headers["location"].rsplit("/", 1)[1])

    def view(self, estimate: str) -> Any:
        return self.get(f"/api/estimates/{estimate}")["view"]

    def ask(self, estimate: str, do: str, **keys: Any) -> Any:
        answer = self.client.post(f"/api/estimates/{estimate}/changes", json={"do": do, **keys})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def say(self, estimate: str, answers: dict[str, Any], **keys: Any) -> Any:
        """Take down an answer by telephone."""
        told = {"who": "Joan Doe", "how": "telephone", "number": "555 0100", "read_back": True, **keys}
        answer = self.client.post(f"/api/estimates/{estimate}/answers", json={**told, "answers": answers})
        assert answer.status_code == 200, answer.text
        return answer.json()["view"]

    def not_answered(self, estimate: str, status: int, answers: dict[str, Any], **keys: Any) -> str:
        told = {"who": "Joan Doe", "how": "telephone", "number": "555 0100", **keys}
        return self.refused(f"/api/estimates/{estimate}/answers", status, json={**told, "answers": answers})

    def not_changed(self, estimate: str, status: int, do: str, **keys: Any) -> str:
        return self.refused(f"/api/estimates/{estimate}/changes", status, json={"do": do, **keys})
