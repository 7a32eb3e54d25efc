"""Photos taken while somebody spoke go to the finding that was spoken then; where there is none they wait."""

from dataclasses import dataclass

from narrate.errors import ConflictError, MissingError, NarrateError
from narrate.records.walkaround import Evidence, Finding, Walkaround
from narrate.store.attachments import keep_attachment
from narrate.store.capture_marks import photo_attached, photo_file, waiting_photos
from narrate.store.captures import read_capture
from narrate.store.engine import Store
from narrate.store.walkarounds import change_walkaround, read_walkaround
from narrate.work.capture_told import place_in

FAR_S = 60.0
"""What was spoken longer before or after a photo is not what it shows; somebody has to say."""
BEFORE = 0.5
"""A photo belongs rather to what was just said than to what is said next: time that has passed counts half."""
TEXT = "photo taken while speaking"


@dataclass(frozen=True, kw_only=True)
class WaitingPhoto:
    """A photo that belongs to no finding yet. Seconds of recording `recording`; None where nothing of it was kept."""

    key: str
    id: str
    walkaround: str
    recording: str | None
    at_s: float | None


def photos_waiting(store: Store) -> tuple[WaitingPhoto, ...]:
    """Return the photos whose walkaround is there and that belong to no finding yet."""
    found = []
    for photo in waiting_photos(store):
        capture = read_capture(store, photo.key)
        place = place_in(capture.told["recordings"], photo.run, photo.at_s) if capture.told else None
        if capture.walkaround is not None:
            recording, at_s = (f"r{place[0] + 1}", place[1]) if place else (None, None)
            known = WaitingPhoto(
                key=photo.key, id=photo.id, walkaround=capture.walkaround, recording=recording, at_s=at_s
            )
            found.append(known)
    return tuple(found)


def attach_photos(store: Store) -> int:
    """Attach what waits to the finding that it was taken at; return how many. What no finding is near to waits on.

    It may end at any moment: whatever is done twice is there once.
    """
    done = 0
    for photo in photos_waiting(store):
        if photo.recording is None or photo.at_s is None or not photo_file(store, photo.key, photo.id).is_file():
            continue
        finding = nearest(read_walkaround(store, photo.walkaround).walkaround, photo.recording, photo.at_s)
        if finding is None:
            continue
        try:
            attach_photo(store, photo, finding.id, who=read_capture(store, photo.key).added_by)
        except (ConflictError, MissingError):
            # Signed, or the finding has just gone: the photo waits on.
            continue
        done += 1
    return done


def attach_photo(store: Store, photo: WaitingPhoto, finding: str, *, who: str) -> None:
    """Make a photo an attachment of a finding.

    Raises MissingError where there is no such finding, ConflictError where the walkaround is signed or set aside.
    """
    data = photo_file(store, photo.key, photo.id).read_bytes()
    kept = keep_attachment(store, photo.walkaround, data, kind="photo", suffix=".jpg", text=TEXT)

    def make(present: Walkaround) -> Walkaround:
        if present.signed is not None:
            message = "This list is signed; reopen it to add a photo."
            raise ConflictError(message)
        if finding not in {each.id for each in present.findings}:
            message = f"There is no finding {finding} any more; choose another."
            raise MissingError(message)
        findings = tuple(_with(each, finding, kept.id) for each in present.findings)
        return present.model_copy(update={"findings": findings})

    try:
        change_walkaround(store, photo.walkaround, who=who, what="lists", make=make, about=finding)
    except (ConflictError, MissingError):
        raise
    except NarrateError as error:
        raise ConflictError(str(error)) from error
    photo_attached(store, photo.key, photo.id, int(kept.id.removeprefix("a")))


def nearest(walkaround: Walkaround, recording: str, at_s: float) -> Finding | None:
    """The finding that was spoken when a photo was taken, or just before; None where none was spoken near it."""
    spoken = [
        (_away(piece, at_s), finding)
        for finding in walkaround.findings
        if finding.review.state != "dropped"
        for piece in finding.evidence
        if piece.recording == recording and piece.start_s is not None
    ]
    away_s, finding = min(spoken, key=lambda each: each[0], default=(FAR_S, None))
    return finding if away_s < FAR_S else None


def _away(piece: Evidence, at_s: float) -> float:
    start_s, end_s = piece.start_s or 0.0, piece.end_s or piece.start_s or 0.0
    return max(start_s - at_s, (at_s - end_s) * BEFORE, 0.0)


def _with(finding: Finding, id_: str, attachment: str) -> Finding:
    if finding.id != id_ or attachment in finding.attachments:
        return finding
    return finding.model_copy(update={"attachments": (*finding.attachments, attachment)})
