"""The tables of captures: what phones and microphones send while somebody speaks."""

from sqlalchemy import Column, Float, ForeignKey, Integer, String, Table, Text

from narrate.store.tables import DIGEST, TIME, metadata

__all__ = ["capture", "capture_mark", "capture_photo", "capture_piece", "capture_run", "metadata"]

capture = Table(
    "capture",
    metadata,
    Column("key", String(32), primary_key=True),
    Column("visit_id", ForeignKey("visit.id"), index=True),
    Column("job_id", ForeignKey("job.id"), index=True),
    Column("device", Text, nullable=False),
    Column("started_at", TIME, nullable=False),
    Column("added_at", TIME, nullable=False),
    Column("added_by", String(80), nullable=False),
    Column("told", Text),
    comment="key: made by the phone. told: for each recording made of it, where runs lie in it and its gaps, JSON.",
)

capture_run = Table(
    "capture_run",
    metadata,
    Column("key", ForeignKey("capture.key"), primary_key=True),
    Column("run", Integer, primary_key=True, autoincrement=False),
    Column("mime", String(120), nullable=False),
    Column("started_at", TIME, nullable=False),
    comment="A recorder from its start to its end; only its first piece has a header.",
)

capture_piece = Table(
    "capture_piece",
    metadata,
    Column("key", ForeignKey("capture.key"), primary_key=True),
    Column("run", Integer, primary_key=True, autoincrement=False),
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("sha256", DIGEST, nullable=False),
    Column("bytes", Integer, nullable=False),
    Column("from_s", Float, nullable=False),
    Column("to_s", Float, nullable=False),
    comment="Its bytes lie in the data folder until the capture is a recording; the row stays.",
)

capture_mark = Table(
    "capture_mark",
    metadata,
    Column("key", ForeignKey("capture.key"), primary_key=True),
    Column("id", String(64), primary_key=True),
    Column("run", Integer, nullable=False),
    Column("record", Text, nullable=False),
    comment="A command or an answer, its seconds those of its run.",
)

capture_photo = Table(
    "capture_photo",
    metadata,
    Column("key", ForeignKey("capture.key"), primary_key=True),
    Column("id", String(64), primary_key=True),
    Column("run", Integer, nullable=False),
    Column("at_s", Float, nullable=False),
    Column("sha256", DIGEST, nullable=False),
    Column("attachment_id", ForeignKey("attachment.id")),
    comment="A photo; it waits in the data folder until the finding is known that it belongs to.",
)
