"""How far the jobs are, told to the page as it changes."""

import asyncio
import json
from collections.abc import AsyncIterator, Awaitable, Callable

from fastapi import APIRouter, Request
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool

from narrate.review.desk import desk_of
from narrate.review.signin import needs
from narrate.review.uploads import told_now

router = APIRouter()
LOOK_EVERY_S = 0.5
"""The store is asked, for a worker is often another process."""
BREATHE_EVERY = 30
"""Looks without a change after which a line keeps the connection open."""


@router.get("/api/jobs/stream", dependencies=[needs("technician")])
async def stream(request: Request) -> StreamingResponse:
    """Server-sent events: the jobs as GET /api/jobs has them, now and at each change."""
    desk = desk_of(request)
    said = changes(lambda: json.dumps(told_now(desk)), request.is_disconnected)
    return StreamingResponse(said, media_type="text/event-stream", headers={"Cache-Control": "no-store"})


async def changes(
    read: Callable[[], str], gone: Callable[[], Awaitable[bool]], every_s: float = LOOK_EVERY_S
) -> AsyncIterator[str]:
    """Yield what `read` gives as events, at once and whenever it gives something else, until the client is `gone`."""
    told, quiet = None, 0
    while not await gone():
        text = await run_in_threadpool(read)
        quiet = 0 if text != told else quiet + 1
        if text != told:
            told = text
            yield f"data: {text}\n\n"
        elif quiet % BREATHE_EVERY == 0:
            yield ": still here\n\n"
        await asyncio.sleep(every_s)
