"""Live words and findings for a phone that records: a connection by which its sound comes and messages go back.

Nothing here is needed for the recording itself, which goes in pieces to the capture store. What ends here, or falls
behind, costs a view of what was said so far and no more.
"""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Annotated

from fastapi import APIRouter, FastAPI, Path, WebSocket
from starlette.concurrency import run_in_threadpool
from starlette.websockets import WebSocketDisconnect

from narrate.review.desk import Desk
from narrate.review.live_connection import NOT_UNDERSTOOD, Connection
from narrate.review.live_desk import end_live, live_desk
from narrate.review.signin import SIGN_IN_FIRST, person_or_none


@asynccontextmanager
async def _with_helpers(app: FastAPI) -> AsyncIterator[None]:
    """Helpers end with the page."""
    yield
    end_live(app.state)


router = APIRouter(lifespan=_with_helpers)


@router.websocket("/api/captures/{key}/live")
async def live_words(socket: WebSocket, key: Annotated[str, Path(pattern=r"^[0-9a-f]{32}$")]) -> None:
    """Sound in, messages out (docs/capture.md has them)."""
    desk: Desk = socket.app.state.desk
    if await run_in_threadpool(person_or_none, socket) is None:
        await socket.close(1008, SIGN_IN_FIRST)
        return
    await socket.accept()
    here = live_desk(socket.app.state, desk)
    connection = Connection(socket, desk, here, here.talk(key))
    try:
        await connection.serve()
    except* WebSocketDisconnect:
        pass
    except* ValueError:
        await socket.close(1003, NOT_UNDERSTOOD)
    finally:
        connection.leave()
