"""The tables, the same on SQLite and PostgreSQL. A change here needs a migration (`store/migrations`).

Times are ISO 8601 text in UTC with milliseconds, so that both engines sort and compare them alike. JSON is
text too: narrate alone reads it. Rows of `content` and `event` are never changed, but for the erasure of a
content's body; triggers see to it. A row's number is never used twice (`sqlite_autoincrement`), since streams,
links and papers name it.
"""

from sqlalchemy import (
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
)

metadata = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
        "pk": "pk_%(table_name)s",
    }
)

DIGEST = String(64)
TIME = String(32)

content = Table(
    "content",
    metadata,
    Column("digest", DIGEST, primary_key=True),
    Column("body", Text),
    Column("erased_at", TIME),
    comment="What events say, by the sha256 of its text; erased: the body is gone, the digest stays.",
)

event = Table(
    "event",
    metadata,
    Column("number", Integer, primary_key=True, autoincrement=False),
    Column("stream", String(80), nullable=False, index=True),
    Column("at", TIME, nullable=False),
    Column("who", String(80), nullable=False),
    Column("what", String(40), nullable=False),
    Column("content", DIGEST, ForeignKey("content.digest"), nullable=False),
    Column("previous", DIGEST, nullable=False, unique=True),
    Column("digest", DIGEST, nullable=False, unique=True),
    comment="One chain through the whole store: each event carries the digest of the one before.",
)

customer = Table(
    "customer",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text),
    Column("phone", Text),
    Column("email", Text),
    Column("added_at", TIME, nullable=False),
    sqlite_autoincrement=True,
)

vehicle = Table(
    "vehicle",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("customer_id", ForeignKey("customer.id"), index=True),
    Column("vin", String(40), unique=True),
    Column("plate", Text),
    Column("plate_key", String(40), index=True),
    Column("year", Integer),
    Column("make", Text),
    Column("model", Text),
    Column("added_at", TIME, nullable=False),
    comment="plate_key: the plate's letters and digits alone, in capitals. Plates change vehicles; VINs do not.",
    sqlite_autoincrement=True,
)

visit = Table(
    "visit",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("number", String(80), unique=True),
    Column("customer_id", ForeignKey("customer.id"), index=True),
    Column("vehicle_id", ForeignKey("vehicle.id"), index=True),
    Column("record", Text, nullable=False),
    Column("promised", TIME),
    Column("added_at", TIME, nullable=False),
    comment="An order: `record` is the order as JSON; it waits for its recordings.",
    sqlite_autoincrement=True,
)

recording = Table(
    "recording",
    metadata,
    Column("sha256", DIGEST, primary_key=True),
    Column("name", Text, nullable=False),
    Column("suffix", String(16), nullable=False),
    Column("bytes", BigInteger, nullable=False),
    Column("duration_s", Float),
    Column("video", Boolean, nullable=False),
    Column("added_at", TIME, nullable=False),
    comment="The original file, unchanged, lies in the data folder under its sha256.",
)

walkaround = Table(
    "walkaround",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("visit_id", ForeignKey("visit.id"), index=True),
    Column("vehicle_id", ForeignKey("vehicle.id"), index=True),
    Column("state", String(16), nullable=False),
    Column("revision", Integer, nullable=False),
    Column("findings", Integer, nullable=False),
    Column("to_check", Integer, nullable=False),
    Column("order_number", Text),
    Column("plate", Text),
    Column("vehicle", Text, nullable=False),
    Column("technician", Text),
    Column("search", Text, nullable=False),
    Column("added_at", TIME, nullable=False),
    Column("changed_at", TIME, nullable=False),
    # Last, so that a list of ten thousand rows need not read past it.
    Column("record", Text, nullable=False),
    CheckConstraint("state IN ('to_check', 'signed', 'set_aside')", name="state"),
    Index("ix_walkaround_state_added_at", "state", "added_at"),
    comment="The fold of a walkaround's events, kept so that a page need not fold; words lie in `heard`.",
    sqlite_autoincrement=True,
)

heard = Table(
    "heard",
    metadata,
    Column("walkaround_id", ForeignKey("walkaround.id"), primary_key=True),
    Column("recording_id", String(16), primary_key=True),
    Column("sha256", ForeignKey("recording.sha256"), index=True),
    Column("record", Text, nullable=False),
    comment="A recording as heard (words, times, probabilities), which never changes.",
)

attachment = Table(
    "attachment",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("walkaround_id", ForeignKey("walkaround.id"), nullable=False, index=True),
    Column("sha256", DIGEST, nullable=False),
    Column("kind", String(16), nullable=False),
    Column("suffix", String(16), nullable=False),
    Column("text", Text, nullable=False),
    Column("added_at", TIME, nullable=False),
    CheckConstraint("kind IN ('photo', 'still', 'clip')", name="kind"),
    comment="A file that belongs to a finding; which one, the finding's own list says.",
    sqlite_autoincrement=True,
)

job = Table(
    "job",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", Text, nullable=False),
    Column("visit_id", ForeignKey("visit.id"), index=True),
    Column("recordings", Text, nullable=False),
    Column("state", String(16), nullable=False, index=True),
    Column("tries", Integer, nullable=False),
    Column("failures", Integer, nullable=False, server_default="0"),
    Column("why", Text, nullable=False, server_default=""),
    Column("kind", String(16), nullable=False, server_default=""),
    Column("done_s", Float, nullable=False),
    Column("total_s", Float, nullable=False),
    Column("worker", String(80)),
    Column("lease_until", TIME),
    Column("began_at", TIME),
    Column("ended_at", TIME),
    Column("took_s", Float),
    Column("walkaround_id", ForeignKey("walkaround.id")),
    Column("added_at", TIME, nullable=False),
    Column("added_by", String(80), nullable=False),
    CheckConstraint("state IN ('waiting', 'working', 'done', 'failed', 'stopped')", name="state"),
    comment="Recordings to be heard as one walkaround; `recordings`: JSON list of sha256.",
    sqlite_autoincrement=True,
)

result = Table(
    "result",
    metadata,
    Column("key", DIGEST, primary_key=True),
    Column("walkaround_id", ForeignKey("walkaround.id"), nullable=False, index=True),
    Column("job_id", ForeignKey("job.id"), nullable=False, index=True),
    Column("made_at", TIME, nullable=False),
    comment="What was made of recordings; key: digest of audio, model, lexicon, settings, rules and order.",
)

person = Table(
    "person",
    metadata,
    Column("id", Integer, primary_key=True),
    Column("name", String(80), nullable=False, unique=True),
    Column("role", String(16), nullable=False),
    Column("pin_hash", Text),
    Column("active", Boolean, nullable=False),
    Column("failures", Integer, nullable=False),
    Column("locked_until", TIME),
    Column("added_at", TIME, nullable=False),
    CheckConstraint("role IN ('technician', 'advisor', 'owner')", name="role"),
    sqlite_autoincrement=True,
)

signed_in = Table(
    "signed_in",
    metadata,
    Column("token_hash", DIGEST, primary_key=True),
    Column("person_id", ForeignKey("person.id"), nullable=False, index=True),
    Column("device", Text, nullable=False),
    Column("began_at", TIME, nullable=False),
    Column("until", TIME, nullable=False),
)

pairing = Table(
    "pairing",
    metadata,
    Column("token_hash", DIGEST, primary_key=True),
    Column("person_id", ForeignKey("person.id"), nullable=False),
    Column("until", TIME, nullable=False),
    Column("used_at", TIME),
    comment="A code shown once as QR, by which another device signs in for the first time.",
)

shop = Table(
    "shop",
    metadata,
    Column("key", String(80), primary_key=True),
    Column("value", Text, nullable=False),
    comment="What the owner set, JSON a key; each change is an event of the stream 'shop'.",
)
