"""Photos taken while somebody spoke go to the finding that was spoken then."""

from narrate.errors import NarrateError
from narrate.records.walkaround import Evidence, Finding, Walkaround
from narrate.store.attachments import keep_attachment
from narrate.store.capture_marks import photo_attached, photo_file, waiting_photos
from narrate.store.captures import read_capture
from narrate.store.engine import Store
from narrate.store.walkarounds import change_walkaround, read_walkaround
from narrate.work.capturing import place_in

BEFORE = 0.5
"""A photo belongs rather to what was just said than to what is said next: time that has passed counts half."""
TEXT = "photo taken while speaking"


def attach_photos(store: Store) -> int:
    """Attach what waits and whose walkaround is there; return how many. What no finding is near to waits on.

    It may end at any moment: whatever is done twice is there once.
    """
    done = 0
    for photo in waiting_photos(store):
        capture = read_capture(store, photo.key)
        place = place_in(capture.told, photo.run, photo.at_s) if capture.told else None
        file = photo_file(store, photo.key, photo.id)
        if capture.walkaround is None or place is None or not file.is_file():
            continue
        finding = nearest(read_walkaround(store, capture.walkaround).walkaround, f"r{place[0] + 1}", place[1])
        if finding is None:
            continue
        kept = keep_attachment(store, capture.walkaround, file.read_bytes(), kind="photo", suffix=".jpg", text=TEXT)
        try:
            _attach(store, capture.walkaround, finding.id, kept.id, who=capture.added_by)
        except NarrateError:
            # Signed or set aside meanwhile: the photo waits until it is open again.
            continue
        photo_attached(store, photo.key, photo.id, int(kept.id.removeprefix("a")))
        done += 1
    return done


def nearest(walkaround: Walkaround, recording: str, at_s: float) -> Finding | None:
    """The finding that was spoken when a photo was taken, or just before; None where none was spoken at all."""
    spoken = [
        (_away(piece, at_s), finding)
        for finding in walkaround.findings
        if finding.review.state != "dropped"
        for piece in finding.evidence
        if piece.recording == recording and piece.start_s is not None
    ]
    return min(spoken, key=lambda each: each[0])[1] if spoken else None


def _away(piece: Evidence, at_s: float) -> float:
    start_s, end_s = piece.start_s or 0.0, piece.end_s or piece.start_s or 0.0
    return max(start_s - at_s, (at_s - end_s) * BEFORE, 0.0)


def _attach(store: Store, walkaround_id: str, finding_id: str, attachment_id: str, *, who: str) -> None:
    def make(present: Walkaround) -> Walkaround:
        findings = tuple(
            each.model_copy(update={"attachments": (*each.attachments, attachment_id)})
            if each.id == finding_id and attachment_id not in each.attachments
            else each
            for each in present.findings
        )
        return present.model_copy(update={"findings": findings})

    change_walkaround(store, walkaround_id, who=who, what="lists", make=make, about=finding_id)
