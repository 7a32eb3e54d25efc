"""Files sent in a form, written straight into a folder of the store, however large they are."""

import secrets
import shutil
import unicodedata
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path, PurePath
from typing import BinaryIO

from fastapi import HTTPException, Request
from python_multipart.exceptions import FormParserError
from python_multipart.multipart import MultipartParser, parse_options_header
from starlette.concurrency import run_in_threadpool

LONGEST_FIELD = 10_000
"""Bytes of a field that is no file."""
MOST_PARTS = 500
LONGEST_NAME = 200
UNREADABLE = "What was sent is no whole form; send it again."


@dataclass(kw_only=True)
class Sent:
    """One file of a form. `path` is gone when the form has been dealt with."""

    name: str
    """What to call it towards people: a plain name, of no meaning to any file system."""
    path: Path
    bytes: int = 0
    too_large: bool = False
    """Whether it had more bytes than it may; then they were let go."""


@dataclass
class Form:
    """What was sent: fields by name, and files in their order."""

    fields: dict[str, str] = field(default_factory=dict)
    files: list[Sent] = field(default_factory=list)

    def says(self, name: str) -> bool:
        """Whether a box is ticked."""
        return self.fields.get(name, "").casefold() in {"1", "on", "true", "yes"}


@asynccontextmanager
async def received(request: Request, folder: Path, *, most_bytes: int) -> AsyncIterator[Form]:
    """Give the form of a request, its files under `folder` until it has been dealt with.

    A file of more than `most_bytes` is given without its bytes. Raises HTTPException for what is no form (400), a
    field that is too long (413) and a disk that cannot take it (507).
    """
    own = folder / secrets.token_hex(8)
    await run_in_threadpool(partial(own.mkdir, parents=True))
    try:
        reading = _Reading(own, most_bytes)
        parser = _parser(request, reading)
        try:
            async for piece in request.stream():
                await run_in_threadpool(parser.write, piece)
            if not reading.whole:
                raise HTTPException(400, UNREADABLE)
        except FormParserError as error:
            raise HTTPException(400, UNREADABLE) from error
        except OSError as error:
            message = f"The file cannot be taken ({error.strerror}); check the room on the disk with the data folder."
            raise HTTPException(507, message) from error
        finally:
            reading.close()
        yield reading.form
    finally:
        await run_in_threadpool(partial(shutil.rmtree, own, ignore_errors=True))


def shown_name(raw: str) -> str:
    r"""Return what a file is called towards people: no folders, nothing invisible, not too long.

    >>> shown_name("..\\..\\bay\x00 2.ogg"), shown_name("/")
    ('bay 2.ogg', 'recording')
    """
    last = raw.replace("\\", "/").rsplit("/", 1)[-1]
    visible = "".join(letter for letter in last if unicodedata.category(letter)[0] != "C").strip()
    if len(visible) > LONGEST_NAME:
        suffix = PurePath(visible).suffix[:16]
        visible = visible[: LONGEST_NAME - len(suffix)] + suffix
    return visible or "recording"


def _parser(request: Request, reading: "_Reading") -> MultipartParser:
    kind, options = parse_options_header(request.headers.get("content-type"))
    boundary = options.get(b"boundary")
    if kind != b"multipart/form-data" or not boundary:
        raise HTTPException(415, "Send files as a form (multipart/form-data).")
    callbacks: dict[str, Callable[..., None]] = {
        "on_part_begin": reading.begin,
        "on_header_field": reading.header_name,
        "on_header_value": reading.header_value,
        "on_header_end": reading.header_end,
        "on_headers_finished": reading.headers_end,
        "on_part_data": reading.data,
        "on_part_end": reading.end,
        "on_end": reading.all_came,
    }
    return MultipartParser(boundary, callbacks)  # type: ignore[arg-type]  # one kind of callback a name


class _Reading:
    """The parts of a form as they come in."""

    def __init__(self, folder: Path, most_bytes: int) -> None:
        self.form = Form()
        self._folder, self._most_bytes = folder, most_bytes
        self._parts = 0
        self._file: BinaryIO | None = None
        self.whole = False
        """Whether the form came to its end; what broke off may lack part of a recording."""
        self.begin()

    def begin(self) -> None:
        self._headers: dict[bytes, bytes] = {}
        self._header, self._value = bytearray(), bytearray()
        self._name, self._field = "", bytearray()

    def header_name(self, data: bytes, start: int, end: int) -> None:
        self._header += data[start:end]

    def header_value(self, data: bytes, start: int, end: int) -> None:
        self._value += data[start:end]

    def header_end(self) -> None:
        self._headers[bytes(self._header).lower()] = bytes(self._value)
        self._header, self._value = bytearray(), bytearray()

    def headers_end(self) -> None:
        self._parts += 1
        if self._parts > MOST_PARTS:
            raise HTTPException(413, f"A form may have {MOST_PARTS} parts; send fewer files at once.")
        _, options = parse_options_header(self._headers.get(b"content-disposition"))
        self._name = options.get(b"name", b"").decode("utf-8", "replace")
        raw = options.get(b"filename")
        # A browser sends a file without name and bytes where none was chosen.
        if raw:
            path = self._folder / str(self._parts)
            self._file = path.open("xb")
            self.form.files.append(Sent(name=shown_name(raw.decode("utf-8", "replace")), path=path))

    def data(self, data: bytes, start: int, end: int) -> None:
        if self._file is None:
            self._field += data[start:end]
            if len(self._field) > LONGEST_FIELD:
                raise HTTPException(413, f"The field {self._name[:40]} is too long; it may have {LONGEST_FIELD} bytes.")
            return
        sent = self.form.files[-1]
        sent.bytes += end - start
        if sent.bytes <= self._most_bytes:
            self._file.write(data[start:end])
        elif not sent.too_large:
            sent.too_large = True
            self._file.truncate(0)

    def end(self) -> None:
        if self._file is None:
            self.form.fields[self._name] = self._field.decode("utf-8", "replace")
        self.close()

    def all_came(self) -> None:
        self.whole = True

    def close(self) -> None:
        if self._file is not None:
            self._file.close()
            self._file = None
