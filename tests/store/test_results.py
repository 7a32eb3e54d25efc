"""Results: the same of the same is kept once, whoever made it."""

from narrate.records.recording import Recording
from narrate.records.walkaround import MadeBy, Walkaround
from narrate.store.day_jobs import earlier_of, free_jobs, is_kept, lost, places, queue_once
from narrate.store.engine import Store
from narrate.store.jobs import claim, fail, finish, list_jobs, queue_job, read_job, walkaround_with
from narrate.store.tables import recording as recording_table
from narrate.store.walkarounds import find_walkarounds, join_walkarounds, set_aside, undo

ONE, TWO = "ab" * 32, "cd" * 32
KEY, OTHER_KEY = "01" * 32, "02" * 32


def keep(store: Store, *digests: str) -> None:
    row = {"name": "bay.ogg", "suffix": ".ogg", "bytes": 1, "video": False, "added_at": "2026-11-27T09:00:00.000Z"}
    with store.writing() as connection:
        for sha256 in digests:
            connection.execute(recording_table.insert().values(sha256=sha256, **row))


def heard(sha256: str) -> Walkaround:
    made_by = MadeBy(program="p", lexicon="l", settings="s")
    return Walkaround(made_by=made_by, recordings=(Recording(id="r1", name="bay.ogg", sha256=sha256),))


def do(store: Store, sha256: str, key: str) -> str | None:
    """Queue a recording, whether it is heard or not, and finish the job with a key."""
    queue_job(store, [sha256], name="bay.ogg", who="Ana", total_s=1.0)
    job = claim(store, "bench")
    assert job
    return finish(store, job, heard(sha256), "Ana", key=key)


def test_the_same_work_gives_one_walkaround(store: Store) -> None:
    """Two jobs of one recording, as two programs may queue them, become one; other work is another one."""
    keep(store, ONE)
    assert [do(store, ONE, KEY), do(store, ONE, KEY), do(store, ONE, OTHER_KEY)] == ["w1", "w1", "w2"]
    assert {job.state for job in list_jobs(store)} == {"done"}
    assert len(find_walkarounds(store)) == 2


def test_what_was_put_together_is_there(store: Store) -> None:
    """The walkaround that a recording was put into stands for the one that it had."""
    keep(store, ONE, TWO)
    do(store, ONE, KEY)
    do(store, TWO, OTHER_KEY)

    def both(first: Walkaround, second: Walkaround) -> Walkaround:
        added = second.recordings[0].model_copy(update={"id": "r2"})
        return first.model_copy(update={"recordings": (*first.recordings, added)})

    join_walkarounds(store, "w1", "w2", who="narrate day", make=both)
    assert do(store, TWO, OTHER_KEY) == "w1"
    assert {place.walkaround for place in places(store, [ONE, TWO]).values()} == {"w1"}


def test_what_was_taken_apart_again_is_where_it_was(store: Store) -> None:
    """A join undone leaves the other recording to its own walkaround, also where the joined one is the newer."""
    keep(store, ONE, TWO)
    do(store, ONE, KEY)
    do(store, TWO, OTHER_KEY)

    def both(first: Walkaround, second: Walkaround) -> Walkaround:
        added = second.recordings[0].model_copy(update={"id": "r2"})
        return first.model_copy(update={"recordings": (*first.recordings, added)})

    join_walkarounds(store, "w2", "w1", who="Ana", make=both)
    assert walkaround_with(store, [ONE]) == "w2"
    undo(store, "w2", who="Ana")
    assert [walkaround_with(store, [sha256]) for sha256 in (ONE, TWO)] == ["w1", "w2"]
    assert walkaround_with(store, [ONE, TWO]) is None


def test_what_a_person_set_aside_may_be_made_anew(store: Store) -> None:
    keep(store, ONE)
    do(store, ONE, KEY)
    set_aside(store, "w1", who="Ana", why="a test")
    assert do(store, ONE, KEY) == "w2"
    assert do(store, ONE, KEY) == "w2"


def test_a_recording_is_in_line_once(store: Store) -> None:
    keep(store, ONE)
    for _ in range(3):
        place = queue_once(store, ONE, name="bay.ogg", who="narrate day", visit_id=None, total_s=1.0)
        assert not place.over
    (job,) = list_jobs(store)
    for failures in range(1, 4):
        assert claim(store, "bench")
        fail(store, job.id, "bench", "It broke.")
        assert place.job
        place = queue_once(store, ONE, name="bay.ogg", who="narrate day", visit_id=None, total_s=1.0)
        assert place.given_up == (failures == 3)
    place = queue_once(store, ONE, name="bay.ogg", who="narrate day", visit_id=None, total_s=1.0, again=True)
    assert place.job
    assert (place.job.state, place.job.failures, len(list_jobs(store))) == ("waiting", 0, 1)


def test_what_came_under_a_name_before_is_known(store: Store) -> None:
    keep(store, ONE, TWO)
    for sha256 in (ONE, TWO):
        queue_once(store, sha256, name="bay.ogg", who="narrate day", visit_id=None, total_s=1.0)
    assert earlier_of(store, "bay.ogg", TWO) == ((ONE, 1),)
    assert earlier_of(store, "other.ogg", TWO) == ()
    assert is_kept(store, ONE)
    assert not is_kept(store, "ef" * 32)


def test_jobs_of_workers_that_are_gone(store: Store) -> None:
    """Given back at once where who held them is gone, uncounted where that was nobody's fault."""
    keep(store, ONE)
    number = queue_job(store, [ONE], name="bay.ogg", who="Ana", total_s=1.0)
    assert claim(store, "here:7:x")
    assert free_jobs(store, lambda worker: worker != "here:7:x") == 0
    assert free_jobs(store, lambda worker: worker == "here:7:x") == 1
    assert (read_job(store, number).state, read_job(store, number).tries) == ("waiting", 1)
    for why, tries, failures in (("", 1, 0), ("It crashed.", 2, 1)):
        assert claim(store, "here:8:x")
        lost(store, "here:8:", why)
        job = read_job(store, number)
        assert (job.state, job.tries, job.failures) == ("waiting", tries, failures)
