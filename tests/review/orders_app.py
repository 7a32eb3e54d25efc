"""The pages of orders, shop and own words over a store of their own, without the rest of the page."""

from dataclasses import replace
from pathlib import Path

from fastapi import FastAPI, Request
from fastapi.responses import JSONResponse
from fastapi.staticfiles import StaticFiles
from starlette.testclient import TestClient

from narrate.errors import ConflictError, MissingError, NarrateError
from narrate.review import orders, own_words, shop_page
from narrate.review.desk import HERE, make_desk
from narrate.settings import Settings
from narrate.store.engine import Store, open_store
from narrate.words.shop import shop_lexicon

STATUS = {MissingError: 404, ConflictError: 409}


def refuse(request: Request, error: Exception) -> JSONResponse:
    return JSONResponse({"detail": str(error)}, STATUS.get(type(error), 422))


def small_app(store: Store, *, local: bool = True) -> FastAPI:
    app = FastAPI()
    desk = make_desk(store, Settings(), local=local)
    app.state.desk = replace(desk, lexicon=lambda: shop_lexicon(store.folder))
    app.state.desk.templates.env.filters["when"] = str
    for module in (orders, shop_page, own_words):
        app.include_router(module.router)
    app.mount("/static", StaticFiles(directory=HERE / "static"))
    app.add_exception_handler(NarrateError, refuse)
    return app


def small_client(folder: Path) -> tuple[TestClient, Store]:
    store = open_store(folder / "data")
    client = TestClient(small_app(store), base_url="http://127.0.0.1:8000", follow_redirects=False)
    return client, store
