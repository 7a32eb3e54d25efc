"""What every page works with: the shop's store, its settings and its words."""

from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from fastapi import Request
from fastapi.templating import Jinja2Templates

from narrate.settings import Settings
from narrate.store.engine import Store
from narrate.words.lexicon import Lexicon
from narrate.words.shop import shop_lexicon

HERE = Path(__file__).parent


@dataclass(frozen=True, kw_only=True)
class Trust:
    """The page, over plain HTTP, on which devices take the shop's authority."""

    port: int
    called: str
    """What devices call the authority."""
    fingerprint: str
    """SHA-256 of its certificate."""


@dataclass(frozen=True, kw_only=True)
class Desk:
    """One running page: where the shop's things are kept and how they are shown."""

    store: Store
    settings: Settings
    """As the settings file says; what the owner set on the page is laid over it where it is used."""
    templates: Jinja2Templates
    lexicon: Callable[[], Lexicon]
    """The words with the shop's own, read anew when those changed."""
    local: bool = True
    """Whether only this computer can reach the page."""
    trust: Trust | None = None
    """Where devices learn to trust this page, if the shop has its own authority."""


def make_desk(store: Store, settings: Settings, *, local: bool = True, trust: Trust | None = None) -> Desk:
    """A desk over a store, with narrate's own templates."""
    templates = Jinja2Templates(directory=HERE / "templates")
    return Desk(
        store=store,
        settings=settings,
        templates=templates,
        lexicon=lambda: shop_lexicon(store.folder),
        local=local,
        trust=trust,
    )


def desk_of(request: Request) -> Desk:
    """The desk a request is answered at."""
    desk: Desk = request.app.state.desk
    return desk
