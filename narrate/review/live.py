"""Changes as they happen: the page of a walkaround or an estimate is told when anyone changed it."""

import asyncio
from collections.abc import AsyncIterator, Callable
from functools import partial

from fastapi import APIRouter, Request
from fastapi.responses import StreamingResponse
from starlette.concurrency import run_in_threadpool

from narrate.review.desk import desk_of
from narrate.review.signin import needs
from narrate.store.walkarounds import revision_of

router = APIRouter()
LOOK_EVERY_S = 0.5
"""The store is asked, not a list in memory: another process, a worker's or a second page's, may have changed it."""
BREATHE_EVERY = 30
"""Looks between two lines that keep the connection open and show that the page has gone."""


@router.get("/api/walkarounds/{walkaround_id}/live", dependencies=[needs("technician")])
async def live(request: Request, walkaround_id: str) -> StreamingResponse:
    """Server-sent events: the walkaround's revision, now and at each change."""
    return await told_live(request, partial(revision_of, desk_of(request).store, walkaround_id))


async def told_live(request: Request, revision_now: Callable[[], int]) -> StreamingResponse:
    """Server-sent events: what `revision_now` gives, now and whenever it gives another. Raises what it raises first."""
    await run_in_threadpool(revision_now)
    return StreamingResponse(_revisions(request, revision_now), media_type="text/event-stream")


async def _revisions(request: Request, revision_now: Callable[[], int]) -> AsyncIterator[str]:
    told, looks = -1, 0
    while not await request.is_disconnected():
        revision = await run_in_threadpool(revision_now)
        if revision != told:
            told = revision
            yield f"data: {revision}\n\n"
        elif looks % BREATHE_EVERY == 0:
            yield ": still here\n\n"
        looks += 1
        await asyncio.sleep(LOOK_EVERY_S)
