"""The tables of price books, estimates and what hangs on them; those of `store/tables.py` hold the rest."""

from sqlalchemy import Boolean, CheckConstraint, Column, ForeignKey, Index, Integer, LargeBinary, String, Table, Text

from narrate.store.tables import DIGEST, TIME, metadata

__all__ = ["estimate", "estimate_link", "link_try", "metadata", "offered_job", "price_book"]

estimate = Table(
    "estimate",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("walkaround_id", ForeignKey("walkaround.id"), nullable=False, index=True),
    Column("state", String(16), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("jobs", Integer, nullable=False),
    Column("to_be_priced", Integer, nullable=False),
    Column("currency", String(3), nullable=False),
    Column("total", String(40), nullable=False),
    Column("order_number", Text),
    Column("customer", Text),
    Column("vehicle", Text, nullable=False),
    Column("expires_on", String(10)),
    Column("search", Text, nullable=False),
    Column("added_at", TIME, nullable=False),
    Column("changed_at", TIME, nullable=False),
    Column("record", Text, nullable=False),
    CheckConstraint("state IN ('draft', 'offered', 'answered', 'set_aside')", name="state"),
    Index("ix_estimate_state_added_at", "state", "added_at"),
    comment="The fold of an estimate's events. Amounts are decimal text: neither engine may round them.",
    sqlite_autoincrement=True,
)

offered_job = Table(
    "offered_job",
    metadata,
    Column("estimate_id", ForeignKey("estimate.id"), primary_key=True),
    Column("job_id", String(16), primary_key=True),
    Column("component", String(80)),
    Column("state", String(16), nullable=False),
    Column("optional", Boolean, nullable=False),
    Column("amount", String(40), nullable=False),
    Column("answered_at", TIME),
    Column("decide_by_date", String(10)),
    Index("ix_offered_job_state_decide_by_date", "state", "decide_by_date"),
    comment="A line for each job of an estimate, written anew with it, so that sums over a year read no records.",
)

price_book = Table(
    "price_book",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("digest", DIGEST, nullable=False),
    Column("rows", Integer, nullable=False),
    Column("imported", Boolean, nullable=False),
    Column("kept_at", TIME, nullable=False),
    Column("kept_by", String(80), nullable=False),
    Column("packed", LargeBinary),
    comment="Each version of the book; the last one holds. packed: its JSON, compressed; digest: sha256 of that JSON.",
    sqlite_autoincrement=True,
)

estimate_link = Table(
    "estimate_link",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("token_hash", DIGEST, nullable=False, unique=True),
    Column("estimate_id", ForeignKey("estimate.id"), nullable=False, index=True),
    Column("until", TIME, nullable=False),
    Column("made_at", TIME, nullable=False),
    Column("made_by", String(80), nullable=False),
    Column("ended_at", TIME),
    Column("opened", Integer, nullable=False),
    comment="A link that shows one estimate to who has it; only the sha256 of its token is kept.",
    sqlite_autoincrement=True,
)

link_try = Table(
    "link_try",
    metadata,
    Column("asker", DIGEST, primary_key=True),
    Column("failures", Integer, nullable=False),
    Column("since", TIME, nullable=False),
    comment="Links tried that are none, by the sha256 of the address that tried them.",
)
