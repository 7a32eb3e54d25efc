"""Sound and pictures out: originals, clips, stills, and what is attached to findings."""

from collections.abc import Callable
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import FileResponse, Response
from pydantic import Field, ValidationError
from starlette.concurrency import run_in_threadpool

from narrate.errors import AudioError, MissingError, UsageError
from narrate.export.cut_out import cut_spans
from narrate.hear.clips import cut_clip
from narrate.hear.clock import clock
from narrate.hear.stills import photo, still
from narrate.hear.suffixes import TYPES
from narrate.records.base import Written
from narrate.records.recording import Recording
from narrate.review.desk import desk_of
from narrate.review.receiving import received
from narrate.review.signin import Person, needs
from narrate.store.attachments import Kind, attachment_file, keep_attachment, read_attachment
from narrate.store.engine import Store
from narrate.store.recordings import kept_recording, recording_file
from narrate.store.walkarounds import read_walkaround
from narrate.work.naming import by_name

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
MOST_BYTES = 40_000_000
"""The largest photo taken."""
NOT_KEPT = {"Cache-Control": "private, no-store"}
"""Customers' voices and cars stay on the shop's computer, not on every device that once showed them."""
Seconds = Annotated[float, Field(ge=0, allow_inf_nan=False)]


class AskStill(Written):
    """The picture of a video at a moment. `recording`: its id in the walkaround."""

    recording: str
    at_s: Seconds


class AskClip(Written):
    """A stretch of a recording."""

    recording: str
    start_s: Seconds
    end_s: Seconds


class AskAttachment(Written):
    """What is to be attached, where it is no photo that is sent."""

    still: AskStill | None = None
    clip: AskClip | None = None


@router.get("/audio/{sha256}")
def original(request: Request, person: Anyone, sha256: str) -> Response:
    """A recording as it came, whole or (Range) in part."""
    path = recording_file(desk_of(request).store, sha256)
    kind = TYPES.get(path.suffix, "application/octet-stream")
    return FileResponse(path, media_type=kind, headers=NOT_KEPT, content_disposition_type="inline")


@router.get("/api/recordings/{sha256}/still")
def still_of(request: Request, person: Anyone, sha256: str, at_s: Seconds) -> Response:
    """The picture of a video at a moment, as JPEG."""
    store = desk_of(request).store
    return _shown(_of_kept(store, sha256, lambda path: still(path, at_s)), "image/jpeg")


@router.get("/walkarounds/{walkaround_id}/clip")
def clip_of(
    request: Request, person: Anyone, walkaround_id: str, recording: str, start_s: Seconds, end_s: Seconds
) -> Response:
    """A stretch of a recording and half a second around it, as Ogg with Opus."""
    store = desk_of(request).store
    return _shown(_clip(store, walkaround_id, recording, start_s, end_s), "audio/ogg")


@router.post("/api/walkarounds/{walkaround_id}/attachments", status_code=201)
async def attach(request: Request, person: Anyone, walkaround_id: str) -> dict[str, str]:
    """Keep a photo (a form with one file), or a still or a clip that the JSON asks for; answer with its id.

    A finding has it once its own list says so.
    """
    store = desk_of(request).store
    if request.headers.get("content-type", "").startswith("application/json"):
        asked = _asked(await request.body())
        return await run_in_threadpool(_attach, store, walkaround_id, asked)
    async with received(request, store.folder / "incoming", most_bytes=MOST_BYTES) as form:
        if len(form.files) != 1:
            raise HTTPException(422, "Send one photo at a time.")
        sent = form.files[0]
        if sent.too_large:
            raise HTTPException(413, f"A photo may have {MOST_BYTES // 1_000_000} MB; make this one smaller.")
        data = await run_in_threadpool(sent.path.read_bytes)
        return await run_in_threadpool(_keep, store, walkaround_id, "photo", await run_in_threadpool(photo, data))


@router.get("/attachments/{attachment_id}")
def attachment(request: Request, person: Anyone, attachment_id: str) -> Response:
    """What is attached."""
    store = desk_of(request).store
    kept = read_attachment(store, attachment_id)
    path = attachment_file(store, kept)
    return FileResponse(path, media_type=kept.type, headers=NOT_KEPT, content_disposition_type="inline")


def _asked(body: bytes) -> AskAttachment:
    try:
        return AskAttachment.model_validate_json(body)
    except ValidationError as error:
        first = error.errors()[0]
        place = ".".join(str(part) for part in first["loc"]) or "the request"
        message = f"{place}: {first['msg']}; correct it and try again."
        raise UsageError(message) from error


def _attach(store: Store, walkaround_id: str, asked: AskAttachment) -> dict[str, str]:
    if asked.still and not asked.clip:
        at_s = asked.still.at_s
        heard = _recording(store, walkaround_id, asked.still.recording)
        data = _of_kept(store, heard.sha256 or "", lambda path: still(path, at_s))
        return _keep(store, walkaround_id, "still", data, f"{heard.name} at {clock(at_s)}")
    if asked.clip and not asked.still:
        start_s, end_s = asked.clip.start_s, asked.clip.end_s
        heard = _recording(store, walkaround_id, asked.clip.recording)
        text = f"{heard.name} from {clock(start_s)} to {clock(end_s)}"
        return _keep(store, walkaround_id, "clip", _clip(store, walkaround_id, heard.id, start_s, end_s), text)
    message = "Ask for one thing to attach: a still or a clip."
    raise UsageError(message)


def _keep(store: Store, walkaround_id: str, kind: Kind, data: bytes, text: str = "photo") -> dict[str, str]:
    suffix = ".ogg" if kind == "clip" else ".jpg"
    return {"id": keep_attachment(store, walkaround_id, data, kind=kind, suffix=suffix, text=text).id}


def _clip(store: Store, walkaround_id: str, recording_id: str, start_s: float, end_s: float) -> bytes:
    """A stretch of sound, silent where words are cut out: clips are what is given to others."""
    heard = _recording(store, walkaround_id, recording_id)
    silent = cut_spans(read_walkaround(store, walkaround_id).walkaround, recording_id)
    return _of_kept(store, heard.sha256 or "", lambda path: cut_clip(path, start_s, end_s, silent=silent))


def _recording(store: Store, walkaround_id: str, recording_id: str) -> Recording:
    walkaround = read_walkaround(store, walkaround_id).walkaround
    for each in walkaround.recordings:
        if each.id == recording_id:
            return each
    message = f"There is no recording {recording_id!r} in {walkaround_id}."
    raise MissingError(message)


def _of_kept(store: Store, sha256: str, make: Callable[[Path], bytes]) -> bytes:
    """What is made of a kept recording; an error about it calls it by its name."""
    path = recording_file(store, sha256)
    try:
        return make(path)
    except AudioError as error:
        known = kept_recording(store, sha256)
        raise AudioError(by_name(str(error), path, known.name if known else "The recording")) from error


def _shown(data: bytes, kind: str) -> Response:
    return Response(data, media_type=kind, headers=NOT_KEPT)
