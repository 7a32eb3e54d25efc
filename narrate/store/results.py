"""Results: what was made of recordings, once for each digest of all that it was made of."""

import json

from sqlalchemy import Connection, delete, select

from narrate.store.clock import now
from narrate.store.tables import heard, result, walkaround


def result_within(connection: Connection, key: str) -> int | None:
    """Return the row of the walkaround with this key, or of the one it was put together with.

    None where there is none, or a person set it aside.
    """
    asked = select(walkaround.c.id, walkaround.c.state).join(result, result.c.walkaround_id == walkaround.c.id)
    row = connection.execute(asked.where(result.c.key == key)).first()
    if row is None or row.state != "set_aside":
        return None if row is None else int(row.id)
    recordings = connection.scalars(select(heard.c.sha256).where(heard.c.walkaround_id == row.id)).all()
    return walkaround_within(connection, [sha256 for sha256 in recordings if sha256])


def walkaround_within(connection: Connection, recordings: list[str]) -> int | None:
    """Return the row of the newest walkaround in which all these recordings (sha256) were heard, none set aside."""
    kept = select(heard.c.walkaround_id).join(walkaround).where(walkaround.c.state != "set_aside")
    found = [set(connection.scalars(kept.where(heard.c.sha256 == sha256))) for sha256 in recordings]
    candidates = sorted(set.intersection(*found), reverse=True) if found else []
    return next((row for row in candidates if set(recordings) <= _present(connection, row)), None)


def _present(connection: Connection, row: int) -> set[str]:
    """The recordings that a walkaround has now: words once heard stay when a join is undone, their recording goes."""
    record = connection.scalar(select(walkaround.c.record).where(walkaround.c.id == row))
    return {each["sha256"] for each in json.loads(record or "{}").get("recordings", ())}


def keep_result(connection: Connection, key: str, *, walkaround_id: int, job_id: int) -> None:
    """Say what was made, in the transaction that adds it; instead of one that was set aside since."""
    connection.execute(delete(result).where(result.c.key == key))
    connection.execute(result.insert().values(key=key, walkaround_id=walkaround_id, job_id=job_id, made_at=now()))
