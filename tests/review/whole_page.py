"""The whole page over a store of its own, and walk-rounds in it, for the tests of what it answers."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from corrected import SAID, found
from starlette.testclient import TestClient

from narrate.records.walkaround import Walkaround
from narrate.review.app import make_app
from narrate.review.desk import make_desk
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.store.people import Role, add_person
from narrate.store.signed_in import sign_in
from narrate.store.walkarounds import Held, add_walkaround, read_walkaround

HERE = "http://127.0.0.1:8000"
OWNER_PIN = "24680"


class Page:
    """A page, its store, and shorter ways to ask it."""

    def __init__(self, folder: Path) -> None:
        self.store: Store = open_store(folder / "data")
        self.desk = make_desk(self.store, Settings())
        self.client = TestClient(make_app(self.desk), base_url=HERE, follow_redirects=False)

    def add(self, *texts: str, **head: Any) -> str:
        """Add what is found in texts, as on `corrected.SAID` where none is given; its id."""
        return self.keep(with_head(found(*texts or (SAID,)), **head))

    def keep(self, walkaround: Walkaround) -> str:
        return add_walkaround(self.store, walkaround, who="Ana")

    def held(self, id_: str) -> Held:
        return read_walkaround(self.store, id_)

    def get(self, path: str) -> Any:
        """What the page's own requests are answered."""
        answer = self.client.get(path)
        assert answer.status_code == 200, answer.text
        return answer.json()

    def text(self, path: str) -> str:
        """A page as people see it."""
        answer = self.client.get(path)
        assert answer.status_code == 200, answer.text
        return answer.text

    def change(self, id_: str, do: str, **keys: Any) -> Any:
        answer = self.client.post(f"/api/walkarounds/{id_}/changes", json={"do": do, **keys})
        assert answer.status_code == 200, answer.text
        return answer.json()

    def refused(self, path: str, status: int, **asked: Any) -> str:
        """The one sentence with which a posted request is refused."""
        answer = self.client.post(path, **asked)
        assert answer.status_code == status, (answer.status_code, answer.text)
        sentence = str(answer.json()["detail"])
        assert sentence.endswith("."), sentence
        return sentence

    def sign_in_as(self, role: Role) -> None:
        """Let everybody sign in from now on, and the page be asked by somebody with this role."""
        add_person(self.store, name="Olga", role="owner", who="Olga", pin=OWNER_PIN)
        person = add_person(self.store, name=f"Some {role}", role=role, who="Olga", pin="1357")
        self.client.cookies.set("narrate_session", sign_in(self.store, person, "1357", "a test"))

    def close(self) -> None:
        self.client.close()
        self.store.close()


def with_head(walkaround: Walkaround, **head: Any) -> Walkaround:
    """The walkaround with values of its order or its vehicle."""
    own = {key: head.pop(key) for key in ("order_number", "technician", "market") if key in head}
    vehicle = walkaround.vehicle.model_copy(update=head)
    return walkaround.model_copy(update={**own, "vehicle": vehicle})


def named(things: Sequence[Any], id_: str) -> Any:
    """The one of the things as the page gets them that has an id."""
    [thing] = [each for each in things if each["id"] == id_]
    return thing
