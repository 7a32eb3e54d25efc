"""What a capture told beside its sound reaches the list: gaps, commands, answers, photos."""

from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import pytest

from narrate.hear.digests import sha256_of
from narrate.records.capture import Gap, Mark
from narrate.records.order import Order
from narrate.records.recording import Recording, Word
from narrate.records.reviewed import Signed
from narrate.records.walkaround import Component, Confidence, Evidence, Finding, MadeBy, Walkaround
from narrate.store.attachments import read_attachment
from narrate.store.capture_ends import become_job
from narrate.store.capture_marks import keep_mark, keep_photo, photo_file, waiting_photos
from narrate.store.captures import begin, begin_run, keep_piece, read_capture
from narrate.store.engine import Store, open_store
from narrate.store.jobs import queue_job
from narrate.store.recordings import keep_recording
from narrate.store.walkarounds import change_walkaround, read_walkaround
from narrate.work import queue
from narrate.work.capture_photos import attach_photos, nearest, photos_waiting
from narrate.work.capture_told import place_in, placed_mark
from narrate.work.queue import work_off

KEY = "0123456789abcdef" * 2
AT = "2026-11-27T09:00:00.000Z"
TOLD = [
    {
        "places": [
            {"run": 0, "from_s": 0.0, "starts_s": 0.0, "ends_s": 20.0},
            {"run": 0, "from_s": 60.0, "starts_s": 20.0, "ends_s": 30.0},
            {"run": 1, "from_s": 0.0, "starts_s": 30.0, "ends_s": 40.0},
        ],
        "gaps": [{"at_s": 20.0, "missing_s": 40.0, "why": "The phone gave no sound."}],
    },
    {"places": [{"run": 2, "from_s": 0.0, "starts_s": 0.0, "ends_s": 9.0}], "gaps": []},
]
SURE = Confidence(overall=0.9, component=0.9, location=0.9, condition=0.9, recommendation=0.9)
SAID = (("brake_pads", 4.0), ("tire", 12.0), ("battery", 34.0))


@pytest.fixture
def store(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Store]:
    monkeypatch.setattr(queue, "LOOK_EVERY_S", 0.01)
    opened = open_store(tmp_path / "data")
    yield opened
    opened.close()


def finding(number: int, component: str, start_s: float, recording: str = "r1") -> Finding:
    evidence = Evidence(
        recording=recording, first_word=number, last_word=number, start_s=start_s, end_s=start_s + 2.0, said=component
    )
    named = Component(id=component, name=component.replace("_", " "), system="brakes", heard=component)
    return Finding(id=f"f{number + 1}", component=named, status="fault", evidence=(evidence,), confidence=SURE)


class Heard:
    """Steps that hear three parts in the first recording."""

    def __init__(self) -> None:
        self.judged: list[Walkaround] = []

    def process(
        self, paths: Sequence[Path], *, order: Order | None, progress: Callable[[float, float], None]
    ) -> Walkaround:
        words = tuple(Word(text=c, start_s=s, end_s=s + 2.0, probability=0.9) for c, s in SAID)
        made = tuple(
            Recording(
                id=f"r{n}", name=path.name, sha256=sha256_of(path), duration_s=40.0, words=words if n == 1 else ()
            )
            for n, path in enumerate(paths, 1)
        )
        findings = tuple(finding(number, *said) for number, said in enumerate(SAID))
        made_by = MadeBy(program="p", lexicon="l", settings="s")
        return Walkaround(made_by=made_by, recordings=made, findings=findings, ids_used={"f": 3})

    def find(self, recordings: Sequence[Recording], *, order: Order | None) -> Walkaround:
        raise NotImplementedError

    def compare(self, walkaround: Walkaround, *, order: Order | None, previous: Walkaround | None) -> Walkaround:
        self.judged.append(walkaround)
        return walkaround


@pytest.fixture
def spoken(store: Store, tmp_path: Path) -> Store:
    """A capture that was joined into two recordings, in line to be heard."""
    begin(store, KEY, visit_id=None, device="", started_at=AT, who="Ana")
    begin_run(store, KEY, 0, mime="audio/webm", started_at=AT)
    keep_piece(store, KEY, 0, 0, b"piece", from_s=0.0, to_s=1.0, sha256=None)
    kept = []
    for number in (1, 2):
        (tmp_path / f"{number}.webm").write_bytes(f"sound {number}".encode())
        kept.append(keep_recording(store, tmp_path / f"{number}.webm", name=f"{number}.webm", suffix=".webm"))
    told = {"recordings": TOLD, "kept": []}
    become_job(store, KEY, kept, name="spoken", total_s=49.0, pieces=1, told=told, who="Ana")
    return store


def hear(store: Store) -> Walkaround:
    work_off(store, steps=Heard(), once=True)
    return read_walkaround(store, read_capture(store, KEY).walkaround or "").walkaround


def test_a_gap_is_told_in_its_recording(spoken: Store) -> None:
    made = hear(spoken)
    assert [recording.gaps for recording in made.recordings] == [
        (Gap(at_s=20.0, missing_s=40.0, why="The phone gave no sound."),),
        (),
    ]


def test_commands_and_answers_hold_at_their_place(spoken: Store) -> None:
    """A taking back that only the live hearing understood, in the second run; an answer to a question."""
    taken = Mark(id="m1", what="take_back", at_s=7.5, end_s=8.5, said="strike that", about_start_s=4.0, about_end_s=6.0)
    keep_mark(spoken, KEY, taken, 1)
    answer = Mark(id="m2", what="answer", at_s=9.0, about_start_s=4.0, about_end_s=6.0, field="location", value="left")
    keep_mark(spoken, KEY, answer, 0)
    made = hear(spoken)
    assert [(each.command, each.recording, each.start_s) for each in made.commands] == [("take_back", "r1", 37.5)]
    states = {each.component.id: each.review.state for each in made.findings}
    assert states == {"brake_pads": "unreviewed", "tire": "unreviewed", "battery": "dropped"}
    assert made.findings[0].locations == ("left",)


def test_a_list_without_a_capture_is_not_judged_again(store: Store, tmp_path: Path) -> None:
    (tmp_path / "bay.webm").write_bytes(b"sound")
    kept = keep_recording(store, tmp_path / "bay.webm", name="bay.webm", suffix=".webm")
    queue_job(store, [kept], name="bay", who="Ana", total_s=1.0)
    steps = Heard()
    work_off(store, steps=steps, once=True)
    assert steps.judged == []


def test_moments_of_runs_are_found_in_the_recordings() -> None:
    assert place_in(TOLD, 0, 5.0) == (0, 5.0)
    assert place_in(TOLD, 0, 40.0) == (0, 20.0), "while it stood still: where it goes on"
    assert place_in(TOLD, 0, 65.0) == (0, 25.0)
    assert place_in(TOLD, 1, 99.0) == (0, 40.0), "after its end: at its end"
    assert place_in(TOLD, 2, 3.0) == (1, 3.0)
    assert place_in(TOLD, 7, 3.0) is None
    mark = Mark(id="m", what="mark", at_s=1.0, end_s=2.0, about_start_s=0.0, about_end_s=0.5)
    moved = placed_mark(mark, 1, TOLD, 0)
    assert moved == mark.model_copy(update={"at_s": 31.0, "end_s": 32.0, "about_start_s": 30.0, "about_end_s": 30.5})
    assert placed_mark(mark, 2, TOLD, 0) is None


def test_photos_go_to_the_finding_that_was_spoken_then(spoken: Store) -> None:
    keep_photo(spoken, KEY, "p1", b"tire", run=0, at_s=15.0)
    keep_photo(spoken, KEY, "p2", b"battery", run=1, at_s=3.0)
    keep_photo(spoken, KEY, "p3", b"nothing", run=2, at_s=3.0)
    assert waiting_photos(spoken) == ()
    made = hear(spoken)
    attached = {each.component.id: each.attachments for each in made.findings}
    assert [len(attached[name]) for name in ("brake_pads", "tire", "battery")] == [0, 1, 1]
    assert read_attachment(spoken, attached["tire"][0]).kind == "photo"
    assert [(each.id, each.recording, each.at_s) for each in photos_waiting(spoken)] == [("p3", "r2", 3.0)]
    assert photo_file(spoken, KEY, "p3").is_file()
    assert not photo_file(spoken, KEY, "p1").exists()
    assert attach_photos(spoken) == 0


def test_a_photo_waits_while_the_list_is_signed(spoken: Store) -> None:
    made = hear(spoken)
    signed = Signed(by="Pat", at=AT)
    change_walkaround(spoken, made.id, who="Pat", what="sign", make=lambda w: w.model_copy(update={"signed": signed}))
    keep_photo(spoken, KEY, "p1", b"late", run=0, at_s=13.0)
    assert attach_photos(spoken) == 0
    assert [each.id for each in photos_waiting(spoken)] == ["p1"]
    change_walkaround(spoken, made.id, who="Pat", what="reopen", make=lambda w: w.model_copy(update={"signed": None}))
    assert attach_photos(spoken) == 1
    assert read_walkaround(spoken, made.id).walkaround.findings[1].attachments == ("a1",)


@pytest.mark.parametrize(
    ("at_s", "component"),
    [(3.0, "brake_pads"), (8.5, "brake_pads"), (11.5, "tire"), (25.0, "tire"), (32.0, "battery"), (400.0, None)],
)
def test_the_nearest_finding(at_s: float, component: str | None) -> None:
    made_by = MadeBy(program="p", lexicon="l", settings="s")
    made = Walkaround(made_by=made_by, findings=tuple(finding(n, *said) for n, said in enumerate(SAID)))
    found = nearest(made, "r1", at_s)
    assert (found.component.id if found else None) == component
    assert nearest(made, "r2", at_s) is None
