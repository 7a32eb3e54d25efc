"""What a phone that records asks of the shop's computer: to keep pieces, marks and photos, and to join them."""

from typing import Annotated, Any, Literal

from fastapi import APIRouter, Body, HTTPException, Path, Query, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from pydantic import Field
from starlette.concurrency import run_in_threadpool

from narrate.hear.stills import photo
from narrate.records.base import Written
from narrate.records.capture import CommandId, Mark
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs
from narrate.store.capture_marks import keep_mark, keep_photo, marks_of, photos_of
from narrate.store.captures import begin, begin_run, keep_piece, read_capture
from narrate.store.orders import read_visit
from narrate.work.capture_photos import attach_photos
from narrate.work.capturing import LackingError, end_capture, is_joining

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
Advisor = Annotated[Person, needs("advisor")]
Key = Annotated[str, Path(pattern=r"^[0-9a-f]{32}$")]
Id = Annotated[str, Path(pattern=r"^[0-9a-zA-Z-]{1,64}$")]
Number = Annotated[int, Path(ge=0, lt=1_000_000)]
Seconds = Annotated[float, Query(ge=0, lt=1_000_000)]
Time = Annotated[str, Field(max_length=40)]
Sha256 = Annotated[str | None, Query(pattern=r"^([0-9a-f]{64})?$")]


class Begun(Written):
    """A capture, as the phone tells of it."""

    visit: int | None = None
    device: Annotated[str, Field(max_length=300)] = ""
    started_at: Time


class RunBegun(Written):
    """A recorder that began."""

    mime: Annotated[str, Field(max_length=120)]
    started_at: Time


class MarkTold(Written):
    """A command or an answer; seconds of its run."""

    id: str | None = None
    what: CommandId | Literal["answer"]
    run: Annotated[int, Field(ge=0, lt=1_000_000)]
    at_s: Annotated[float, Field(ge=0)]
    end_s: float | None = None
    said: Annotated[str, Field(max_length=400)] = ""
    undone: bool = False
    about_start_s: float | None = None
    about_end_s: float | None = None
    field: Annotated[str | None, Field(max_length=40)] = None
    value: Annotated[str | None, Field(max_length=80)] = None


class RunEnded(Written):
    """How many pieces a run has."""

    run: Annotated[int, Field(ge=0, lt=1_000_000)]
    pieces: Annotated[int, Field(ge=0, lt=1_000_000)]


class Done(Written):
    """A capture that is over, as the phone knows it."""

    runs: Annotated[tuple[RunEnded, ...], Field(max_length=10_000)]


@router.put("/api/captures/{key}")
def begin_capture(request: Request, key: Key, person: Anyone, told: Annotated[Begun, Body()]) -> dict[str, Any]:
    """Make a capture, or say which order it is for."""
    desk = desk_of(request)
    visit = read_visit(desk.store, told.visit).id if told.visit is not None else None
    begin(desk.store, key, visit_id=visit, device=told.device, started_at=told.started_at, who=person.name)
    return state_of(desk, key)


@router.put("/api/captures/{key}/runs/{run}")
def begin_capture_run(
    request: Request, key: Key, run: Number, person: Anyone, told: Annotated[RunBegun, Body()]
) -> dict[str, Any]:
    """Say that a recorder began."""
    desk = desk_of(request)
    begin_run(desk.store, key, run, mime=told.mime, started_at=told.started_at)
    return state_of(desk, key)


@router.put("/api/captures/{key}/runs/{run}/pieces/{number}")
async def take_piece(
    request: Request, key: Key, run: Number, number: Number, person: Anyone, from_s: Seconds, to_s: Seconds,
    sha256: Sha256 = None,
) -> dict[str, float]:  # fmt: skip
    """Keep a piece; it is on disk when the answer goes out."""
    data = await request.body()
    keep = {"from_s": from_s, "to_s": to_s, "sha256": sha256 or None}
    return await run_in_threadpool(_keep_piece, desk_of(request), key, run, number, data, keep)


@router.get("/api/captures/{key}")
def capture_now(request: Request, key: Key, person: Anyone) -> dict[str, Any]:
    """How a capture stands. Whoever asks until it is done has its photos attached: they lie on this machine."""
    desk = desk_of(request)
    state = state_of(desk, key)
    if state["walkaround"] and not all(each["attached"] for each in state["photos"]) and attach_photos(desk.store):
        state = state_of(desk, key)
    return state


@router.put("/api/captures/{key}/marks/{id_}")
def take_mark(request: Request, key: Key, id_: Id, person: Anyone, told: Annotated[MarkTold, Body()]) -> dict[str, str]:
    """Keep a command or an answer, or what became of it."""
    mark = Mark(**{**told.model_dump(exclude={"run"}), "id": id_})
    keep_mark(desk_of(request).store, key, mark, told.run)
    return {"id": id_}


@router.put("/api/captures/{key}/photos/{id_}")
async def take_photo(
    request: Request, key: Key, id_: Id, person: Anyone, run: Annotated[int, Query(ge=0)], at_s: Seconds
) -> dict[str, str]:
    """Keep a photo until the finding is known that was spoken then."""
    data = await request.body()
    await run_in_threadpool(_keep_photo, desk_of(request), key, id_, data, run, at_s)
    return {"id": id_}


@router.post("/api/captures/{key}/done")
def end(request: Request, key: Key, person: Anyone, told: Annotated[Done, Body()]) -> JSONResponse:
    """Join what was recorded and put it in line; 409 with what is missing while something is."""
    desk = desk_of(request)
    try:
        end_capture(desk.store, key, who=person.name, expected={each.run: each.pieces for each in told.runs})
    except LackingError as error:
        return JSONResponse({"detail": str(error), "missing": error.missing}, 409)
    return JSONResponse(state_of(desk, key))


@router.post("/api/captures/{key}/close")
def close(request: Request, key: Key, person: Advisor) -> Response:
    """Make a recording of what came, where the phone never came back."""
    desk = desk_of(request)
    end_capture(desk.store, key, who=person.name)
    if "text/html" in request.headers.get("accept", ""):
        return RedirectResponse("/captures", 303)
    return JSONResponse(state_of(desk, key))


def state_of(desk: Desk, key: str) -> dict[str, Any]:
    """A capture as the phone gets it."""
    now = read_capture(desk.store, key)
    told = now.told["recordings"] if now.told else []
    return {
        "key": key,
        "state": "joining" if now.state == "open" and is_joining(key) else now.state,
        "why": now.why,
        "visit": now.visit_id,
        "runs": [
            {
                "run": run.run,
                "mime": run.mime,
                "started_at": run.started_at,
                "pieces": run.spans,
                "seconds": run.seconds,
            }
            for run in now.runs
        ],
        "gaps": [gap for each in told for gap in each["gaps"]],
        "safe_s": round(now.safe_s, 2),
        "marks": [{**mark.model_dump(), "run": run} for run, mark in marks_of(desk.store, key)],
        "photos": [{"id": each.id, "attached": each.attachment_id is not None} for each in photos_of(desk.store, key)],
        "job": now.job_id,
        "walkaround": now.walkaround,
    }


def _keep_piece(
    desk: Desk, key: str, run: int, number: int, data: bytes, told: dict[str, Any]
) -> dict[str, float]:  # fmt: skip
    if told["to_s"] < told["from_s"]:
        raise HTTPException(422, "A piece ends after it begins; send it with its own seconds.")
    return {"safe_s": round(keep_piece(desk.store, key, run, number, data, **told), 2)}


def _keep_photo(desk: Desk, key: str, id_: str, data: bytes, run: int, at_s: float) -> None:
    keep_photo(desk.store, key, id_, photo(data), run=run, at_s=at_s)
    if read_capture(desk.store, key).walkaround:
        attach_photos(desk.store)
