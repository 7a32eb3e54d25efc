"""Recordings that were sent: looked at, kept as they are, and put in line to be heard."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from narrate.errors import AudioError
from narrate.hear.audio import SLACK_S
from narrate.hear.clock import clock
from narrate.hear.glance import Glance, glance_at
from narrate.hear.suffixes import true_suffix
from narrate.review.desk import Desk
from narrate.review.receiving import Sent
from narrate.settings import Settings
from narrate.store.jobs import job_with, queue_job, walkaround_with
from narrate.store.recordings import keep_recording
from narrate.store.shop import shop_settings
from narrate.work.naming import by_name

MOST_BYTES = 2_000_000_000
"""The largest recording taken."""


@dataclass(frozen=True, kw_only=True)
class Taken:
    """A recording that is kept now: its job, or the walkaround it is in already. `said`: one sentence."""

    name: str
    sha256: str
    said: str
    job: int | None = None
    walkaround: str | None = None


@dataclass(frozen=True, kw_only=True)
class Refused:
    """A file that was not taken; `status` is that of HTTP."""

    name: str
    status: int
    said: str


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What became of the files of one request."""

    taken: tuple[Taken, ...] = ()
    refused: tuple[Refused, ...] = ()

    @property
    def status(self) -> int:
        """201 where something is in line now, 200 where all was known, else that of the first refusal."""
        if self.taken:
            return 201 if any(each.job for each in self.taken) else 200
        return self.refused[0].status if self.refused else 422

    def as_json(self) -> dict[str, Any]:
        """As the page gets it; `detail` is the first refusal's sentence where nothing was taken."""
        detail = {} if self.taken or not self.refused else {"detail": self.refused[0].said}
        lists = {"taken": [asdict(each) for each in self.taken], "refused": [asdict(each) for each in self.refused]}
        return {**lists, **detail}


@dataclass(frozen=True, kw_only=True)
class _Kept:
    name: str
    sha256: str
    length_s: float


def take(desk: Desk, files: Sequence[Sent], *, who: str, visit_id: int | None, together: bool, again: bool) -> Answer:
    """Keep recordings and queue a job for each, or one for all of them (`together`).

    What was heard before, or waits already, is told and not queued once more unless `again`. With `together` one
    that cannot be used holds up all of them, for a walk-round without it would be incomplete.
    """
    settings = shop_settings(desk.store, desk.settings)
    kept: list[_Kept] = []
    refused: list[Refused] = []
    for sent in files:
        found = _keep(desk, sent, settings)
        if isinstance(found, Refused):
            refused.append(found)
        elif all(found.sha256 != each.sha256 for each in kept):
            kept.append(found)
    if together and refused and kept:
        held_up = f"It waits for {refused[0].name}, which cannot be used; send all again without that, or replace it."
        refused += [Refused(name=each.name, status=422, said=held_up) for each in kept]
        return Answer(refused=tuple(refused))
    groups = [kept] if together and kept else [[each] for each in kept]
    taken = [each for group in groups for each in _queue(desk, group, who=who, visit_id=visit_id, again=again)]
    return Answer(taken=tuple(taken), refused=tuple(refused))


def _keep(desk: Desk, sent: Sent, settings: Settings) -> _Kept | Refused:
    """Keep one recording as it is, or say why not."""
    if sent.too_large:
        limit = f"{MOST_BYTES / 1e9:g} GB"
        return Refused(name=sent.name, status=413, said=f"{sent.name} is larger than {limit}; send a shorter one.")
    try:
        glance = glance_at(sent.path)
    except AudioError as error:
        return Refused(name=sent.name, status=415, said=by_name(str(error), sent.path, sent.name))
    wrong = _wrong_length(sent.name, glance, settings)
    if wrong:
        return Refused(name=sent.name, status=422, said=wrong)
    suffix = true_suffix(sent.name, glance.container)
    length_s = glance.duration_s
    sha256 = keep_recording(
        desk.store, sent.path, name=sent.name, suffix=suffix, duration_s=length_s, video=glance.video
    )
    return _Kept(name=sent.name, sha256=sha256, length_s=length_s or 0.0)


def _wrong_length(name: str, glance: Glance, settings: Settings) -> str:
    """Why a recording is too long or too short to be heard; empty if it is neither."""
    length_s, most_s, least_s = glance.duration_s, settings.max_duration_s, settings.min_duration_s
    if length_s is not None and length_s > most_s + SLACK_S:
        return f"{name} lasts {clock(length_s)}, longer than the limit of {clock(most_s)}; split it."
    if length_s is not None and length_s < least_s:
        return f"{name} lasts {length_s:.2f} s, in which nothing can be said; record it again."
    return ""


def _queue(desk: Desk, group: Sequence[_Kept], *, who: str, visit_id: int | None, again: bool) -> tuple[Taken, ...]:
    """Put recordings in line as one walk-round, unless they are known."""
    digests = [each.sha256 for each in group]
    known = None if again else walkaround_with(desk.store, digests)
    if known:
        said = f"was heard before: it is in {known}."
        return tuple(
            Taken(name=each.name, sha256=each.sha256, said=f"{each.name} {said}", walkaround=known) for each in group
        )
    waiting = job_with(desk.store, digests)
    if waiting:
        number, said = waiting.id, "is in line already."
    else:
        name = group[0].name if len(group) == 1 else f"{group[0].name} and {len(group) - 1} more"
        total_s = sum(each.length_s for each in group)
        number = queue_job(desk.store, digests, name=name, who=who, visit_id=visit_id, total_s=total_s)
        said = "is in line to be heard."
    return tuple(Taken(name=each.name, sha256=each.sha256, said=f"{each.name} {said}", job=number) for each in group)
