"""One phone's connection for live words: its sound goes to a helper, the helper's messages come back."""

import asyncio
import contextlib
import time
from typing import Annotated, Any, Literal

import anyio
from fastapi import WebSocket
from pydantic import Field, TypeAdapter
from starlette.concurrency import run_in_threadpool
from starlette.websockets import WebSocketDisconnect

from narrate.errors import NarrateError
from narrate.hear.audio import RATE
from narrate.records.base import Written
from narrate.records.capture import CommandId
from narrate.records.order import Order
from narrate.review.desk import Desk
from narrate.review.live_desk import LiveDesk, Talk
from narrate.settings import Settings
from narrate.store.orders import order_of
from narrate.store.shop import shop_settings
from narrate.work.live_aloud import Message, ReadBack
from narrate.work.live_helper import Helper
from narrate.work.live_serving import Beginning

MOST_BYTES = 640_000
"""Twenty seconds of sound in one message; more is none of this page's."""
MOST_TEXT = 2_000
FREE_EVERY_S = 1.0
LOOK_EVERY_S = 2.0
UNSENT_S = 0.5
"""A phone that was told to wait for a helper sent nothing meanwhile: if its sound lags behind the clock by more than
this, that much is missing."""
MOST_STARTS = 3
"""Helpers that may end while one connection lasts, within `STARTS_WITHIN_S`; then live words stay away."""
STARTS_WITHIN_S = 60.0

ALL_BUSY = "As many phones as this computer can follow have live words already."
ENDED = "Live words stopped and begin anew."
GIVEN_UP = "Live words stopped several times and stay away for this recording."
NOT_UNDERSTOOD = "This page and the shop's computer do not understand each other; load the page again."
Id = Annotated[str, Field(pattern=r"^[0-9A-Za-z-]{1,64}$")]
Second = Annotated[float, Field(ge=0, le=1_000_000, allow_inf_nan=False)]


class Begin(Written):
    """Sound follows, of this run and from this second of it on."""

    type: Literal["begin"]
    run: int = Field(ge=0, le=100_000)
    at_s: Second
    visit: int | None = None
    read_back: ReadBack = "asked"


class Command(Written):
    """A command was touched."""

    type: Literal["command"]
    command: CommandId
    id: Id | None = None


class Undo(Written):
    """A command or an answer is undone."""

    type: Literal["undo"]
    mark: Id


class Answered(Written):
    """An answer to the open question was touched."""

    type: Literal["answer"]
    value: Annotated[str, Field(max_length=100)]


Asked = Annotated[Begin | Command | Undo | Answered, Field(discriminator="type")]
ASKED: TypeAdapter[Begin | Command | Undo | Answered] = TypeAdapter(Asked)


class Connection:
    """One phone that is connected: reads what it sends, and sees that it has a helper."""

    def __init__(self, socket: WebSocket, desk: Desk, here: LiveDesk, talk: Talk) -> None:
        self._socket, self._desk, self._here, self._talk = socket, desk, here, talk
        self._loop = asyncio.get_running_loop()
        self._helper: Helper | None = None
        self._told: asyncio.Queue[tuple[Helper, Message]] = asyncio.Queue()
        self._begun: Begin | None = None
        self._order: Order | None = None
        self._at_s = self._begun_at = 0.0
        self._fresh = self._waits = False
        self._starting = asyncio.Lock()
        self._starts: list[float] = []

    async def serve(self) -> None:
        """Serve until the phone goes; raises a group with WebSocketDisconnect then, with ValueError for nonsense."""
        async with anyio.create_task_group() as together:
            together.start_soon(self._send)
            together.start_soon(self._watch)
            await self._read()

    def leave(self) -> None:
        """Nobody listens any more."""
        helper, self._helper = self._helper, None
        if helper:
            self._here.helpers.give_back(helper)

    async def _read(self) -> None:
        while True:
            message = await self._socket.receive()
            if message["type"] == "websocket.disconnect":
                raise WebSocketDisconnect(message.get("code", 1000))
            samples, text = message.get("bytes"), message.get("text")
            if samples is not None:
                self._sound(samples)
            else:
                await self._asked(text or "")

    def _sound(self, samples: bytes) -> None:
        if self._begun is None or len(samples) > MOST_BYTES or len(samples) % 2:
            raise ValueError(NOT_UNDERSTOOD)
        length_s = len(samples) / 2 / RATE
        if self._fresh:
            by_clock_s = self._begun.at_s + time.monotonic() - self._begun_at - length_s
            self._at_s = by_clock_s if by_clock_s - self._at_s > UNSENT_S else self._at_s
            self._fresh = False
        if self._helper:
            self._helper.feed(samples, self._at_s)
        self._at_s += length_s

    async def _asked(self, text: str) -> None:
        asked = ASKED.validate_json(text[: MOST_TEXT + 1])
        if not isinstance(asked, Begin):
            if self._helper:
                self._helper.ask(asked.model_dump())
            return
        first, self._begun, self._at_s = self._begun is None, asked, asked.at_s
        self._begun_at, self._fresh = time.monotonic(), False
        if not first and self._helper:
            self._helper.ask(asked.model_dump())
        elif first:
            self._order = await run_in_threadpool(self._order_of, asked.visit)
            await self._start()

    def _order_of(self, visit: int | None) -> Order | None:
        try:
            return order_of(self._desk.store, visit) if visit is not None else None
        except NarrateError:
            return None

    async def _start(self) -> None:
        """Take a helper; while there is none, `_watch` asks again."""
        async with self._starting:
            if self._helper or len(self._starts) > MOST_STARTS:
                return
            settings = await run_in_threadpool(shop_settings, self._desk.store, self._desk.settings)
            helper = self._here.helpers.take()
            if helper:
                self._begin(helper, settings)
            elif not self._waits:
                self._waits = True
                await self._put({"type": "unavailable", "why": ALL_BUSY})

    def _begin(self, helper: Helper, settings: Settings) -> None:
        assert self._begun is not None
        self._helper, self._waits = helper, False
        beginning = Beginning(
            settings=settings,
            order=self._order,
            run=self._begun.run,
            at_s=self._at_s,
            read_back=self._begun.read_back,
            so_far=tuple(self._talk.so_far),
        )
        helper.begin(beginning, lambda message: self._from_thread(helper, message))

    def _from_thread(self, helper: Helper, message: Message) -> None:
        # The page may be going down just now.
        with contextlib.suppress(RuntimeError):
            self._loop.call_soon_threadsafe(self._told.put_nowait, (helper, message))

    async def _send(self) -> None:
        while True:
            helper, message = await self._told.get()
            if helper is not self._helper:
                continue
            if message["type"] == "kept":
                self._talk.so_far.append(message["entry"])
            elif message["type"] == "gone":
                await self._ended()
            else:
                self._fresh = self._fresh or message["type"] == "ready"
                await self._put(message)

    async def _ended(self) -> None:
        """The helper's process ended: tell, and begin anew unless that happens again and again."""
        self.leave()
        now = time.monotonic()
        self._starts = [*(at for at in self._starts if now - at < STARTS_WITHIN_S), now]
        given_up = len(self._starts) > MOST_STARTS
        await self._put({"type": "unavailable", "why": GIVEN_UP if given_up else ENDED})
        await self._start()

    async def _watch(self) -> None:
        """Ask for a helper while there is none, and end one that hangs."""
        while True:
            await asyncio.sleep(LOOK_EVERY_S if self._helper else FREE_EVERY_S)
            if self._helper is None and self._begun:
                await self._start()
            elif self._helper and self._helper.stuck():
                self._helper.end()

    async def _put(self, message: dict[str, Any]) -> None:
        await self._socket.send_json(message)
