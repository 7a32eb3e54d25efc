"""The microphone check: a few seconds of sound from the page, judged in plain sentences."""

import secrets
from dataclasses import asdict
from typing import Annotated, Any

import numpy as np
from fastapi import APIRouter, HTTPException, Request
from starlette.concurrency import run_in_threadpool

from narrate.errors import AudioError
from narrate.hear.audio import RATE, Samples, decode
from narrate.hear.microphone_check import check_microphone
from narrate.hear.whisper_engine import speech_in
from narrate.review.desk import Desk, desk_of
from narrate.review.signin import Person, needs

router = APIRouter()
Anyone = Annotated[Person, needs("technician")]
PCM = ("audio/l16", "audio/pcm", "application/octet-stream")
"""Content types of bare samples: signed 16 bits, little endian, mono, 16 kHz. Anything else is read as a file."""
LONGEST_S = 30.0


@router.post("/api/microphone-check")
async def microphone_check(request: Request, person: Anyone) -> dict[str, Any]:
    """Judge the sound in the body, a recording of any kind or bare samples; nothing of it is kept.

    Answers `good`, `sentences` and what was measured: `speech_db`, `noise_db`, `speech_to_noise_db`, `clipped`.
    """
    kind = request.headers.get("content-type", "").split(";")[0].strip().lower()
    return await run_in_threadpool(_judged, desk_of(request), kind, await request.body())


def _judged(desk: Desk, kind: str, data: bytes) -> dict[str, Any]:
    samples = _bare(data) if kind in PCM else _decoded(desk, data)
    return asdict(check_microphone(samples, speech_in(samples)))


def _bare(data: bytes) -> Samples:
    samples = np.frombuffer(data[: len(data) // 2 * 2], dtype="<i2")[: int(LONGEST_S * RATE)].astype(np.float32)
    samples /= 32768
    return samples


def _decoded(desk: Desk, data: bytes) -> Samples:
    """The sound of a recording; FFmpeg wants a file, which is gone at once."""
    incoming = desk.store.folder / "incoming"
    incoming.mkdir(parents=True, exist_ok=True)
    path = incoming / f"check-{secrets.token_hex(8)}"
    try:
        path.write_bytes(data)
        return decode(path, min_duration_s=0.0, max_duration_s=LONGEST_S).samples
    except AudioError as error:
        message = "The sound of the check cannot be read; begin the check again."
        raise HTTPException(422, message) from error
    finally:
        path.unlink(missing_ok=True)
