"""The page of a walk-round under someone's hands: keys pressed, and what then stands in the store."""

from browser_shop import Shop
from playwright.sync_api import Page, expect

HAND = "#hand"
FOCUSED = "document.activeElement.matches('a, button') ? document.activeElement.innerText : ''"


class Hands:
    """One page of one walk-round, worked by keyboard."""

    def __init__(self, page: Page, shop: Shop, walkaround: str) -> None:
        self.page = page
        self.shop = shop
        self.id = walkaround

    def open(self, about: str = "") -> "Hands":
        """Open the page; `about` as in `finding f1` takes that in hand."""
        self.page.goto("about:blank")
        self.page.goto(f"{self.shop.url}/walkarounds/{self.id}" + (f"#{about.replace(' ', '%20')}" if about else ""))
        self.shown()
        return self

    def shown(self) -> None:
        """Wait until the page shows what the store holds."""
        self.page.wait_for_selector(f'{HAND}[data-revision="{self.shop.revision(self.id)}"]')

    def press(self, *keys: str) -> None:
        """Press keys one after the other, as a person does."""
        for key in keys:
            self.page.keyboard.press(key)

    def keep(self, *keys: str) -> None:
        """Press keys of which the last changes the list, and wait until that is shown."""
        with self.page.expect_response(lambda answer: answer.request.method == "POST") as told:
            self.press(*keys)
        assert told.value.ok, told.value.text()
        self.shown()

    def pick(self, letters: str, name: str) -> None:
        """Type letters into the picker that is open, and wait until it offers the name first."""
        self.page.keyboard.type(letters)
        expect(self.page.locator(f"{HAND} .matches li").first).to_contain_text(name)

    def type(self, text: str, *, anew: bool = True) -> None:
        """Type into the field that has the focus, in place of what stands in it."""
        if anew:
            self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    @property
    def title(self) -> str:
        return self.page.locator("#in-hand").inner_text()

    @property
    def held(self) -> str:
        """What the address says is in hand, such as `finding f2`."""
        held: str = self.page.evaluate("decodeURIComponent(location.hash.slice(1))")
        return held

    def field(self, label: str) -> str:
        """What a field of the finding in hand shows."""
        row = self.page.locator(f"{HAND} .field > button", has=self.page.locator(f'.label:text-is("{label}")'))
        return row.locator(".value").inner_text()

    def told(self) -> str:
        """What the page last said, once it says anything."""
        place = self.page.locator("#told")
        expect(place).not_to_be_empty()
        return place.inner_text()


def tab_to(page: Page, text: str) -> None:
    """Press Tab until what has the focus says so."""
    for _ in range(60):
        page.keyboard.press("Tab")
        if text in page.evaluate(FOCUSED):
            return
    message = f"Tab does not reach “{text}”."
    raise AssertionError(message)
