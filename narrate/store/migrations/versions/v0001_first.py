"""The first tables, and the triggers that keep what is written once from being changed."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None

NEVER = "narrate: what was written once is never changed"

SQLITE = (
    f"CREATE TRIGGER event_not_changed BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, '{NEVER}'); END",
    f"CREATE TRIGGER event_not_deleted BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, '{NEVER}'); END",
    f"CREATE TRIGGER content_not_deleted BEFORE DELETE ON content BEGIN SELECT RAISE(ABORT, '{NEVER}'); END",
    f"""CREATE TRIGGER content_only_erased BEFORE UPDATE ON content
        WHEN NOT (NEW.digest = OLD.digest AND OLD.body IS NOT NULL AND NEW.body IS NULL AND NEW.erased_at IS NOT NULL)
        BEGIN SELECT RAISE(ABORT, '{NEVER}'); END""",
)

POSTGRESQL = (
    f"""CREATE FUNCTION narrate_never() RETURNS trigger LANGUAGE plpgsql AS
        $$ BEGIN RAISE EXCEPTION '{NEVER}' USING ERRCODE = 'integrity_constraint_violation'; END $$""",
    """CREATE TRIGGER event_not_changed BEFORE UPDATE OR DELETE OR TRUNCATE ON event
        FOR EACH STATEMENT EXECUTE FUNCTION narrate_never()""",
    """CREATE TRIGGER content_not_deleted BEFORE DELETE OR TRUNCATE ON content
        FOR EACH STATEMENT EXECUTE FUNCTION narrate_never()""",
    """CREATE TRIGGER content_only_erased BEFORE UPDATE ON content FOR EACH ROW
        WHEN (NOT (NEW.digest = OLD.digest AND OLD.body IS NOT NULL AND NEW.body IS NULL
                   AND NEW.erased_at IS NOT NULL))
        EXECUTE FUNCTION narrate_never()""",
)


def upgrade() -> None:
    """Make all tables."""
    _events()
    _vehicles()
    _visits()
    _walkarounds()
    _beside_walkarounds()
    _jobs()
    _people()
    if op.get_bind().dialect.name == "sqlite":
        for statement in SQLITE:
            op.execute(statement)
    else:
        for statement in POSTGRESQL:
            op.execute(statement)


def _events() -> None:
    op.create_table(
        "content",
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("body", sa.Text(), nullable=True),
        sa.Column("erased_at", sa.String(length=32), nullable=True),
        sa.PrimaryKeyConstraint("digest", name=op.f("pk_content")),
        comment="What events say, by the sha256 of its text; erased: the body is gone, the digest stays.",
    )
    op.create_table(
        "event",
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("stream", sa.String(length=80), nullable=False),
        sa.Column("at", sa.String(length=32), nullable=False),
        sa.Column("who", sa.String(length=80), nullable=False),
        sa.Column("what", sa.String(length=40), nullable=False),
        sa.Column("content", sa.String(length=64), nullable=False),
        sa.Column("previous", sa.String(length=64), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.ForeignKeyConstraint(["content"], ["content.digest"], name=op.f("fk_event_content_content")),
        sa.PrimaryKeyConstraint("number", name=op.f("pk_event")),
        sa.UniqueConstraint("digest", name=op.f("uq_event_digest")),
        sa.UniqueConstraint("previous", name=op.f("uq_event_previous")),
        comment="One chain through the whole store: each event carries the digest of the one before.",
    )
    op.create_index(op.f("ix_event_stream"), "event", ["stream"], unique=False)


def _vehicles() -> None:
    op.create_table(
        "customer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=True),
        sa.Column("phone", sa.Text(), nullable=True),
        sa.Column("email", sa.Text(), nullable=True),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_customer")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "vehicle",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=True),
        sa.Column("vin", sa.String(length=40), nullable=True),
        sa.Column("plate", sa.Text(), nullable=True),
        sa.Column("plate_key", sa.String(length=40), nullable=True),
        sa.Column("year", sa.Integer(), nullable=True),
        sa.Column("make", sa.Text(), nullable=True),
        sa.Column("model", sa.Text(), nullable=True),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_vehicle_customer_id_customer")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_vehicle")),
        sa.UniqueConstraint("vin", name=op.f("uq_vehicle_vin")),
        comment="plate_key: the plate's letters and digits alone, in capitals. Plates change vehicles; VINs do not.",
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_vehicle_customer_id"), "vehicle", ["customer_id"], unique=False)
    op.create_index(op.f("ix_vehicle_plate_key"), "vehicle", ["plate_key"], unique=False)


def _visits() -> None:
    op.create_table(
        "visit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.String(length=80), nullable=True),
        sa.Column("customer_id", sa.Integer(), nullable=True),
        sa.Column("vehicle_id", sa.Integer(), nullable=True),
        sa.Column("record", sa.Text(), nullable=False),
        sa.Column("promised", sa.String(length=32), nullable=True),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_visit_customer_id_customer")),
        sa.ForeignKeyConstraint(["vehicle_id"], ["vehicle.id"], name=op.f("fk_visit_vehicle_id_vehicle")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_visit")),
        sa.UniqueConstraint("number", name=op.f("uq_visit_number")),
        comment="An order: `record` is the order as JSON; it waits for its recordings.",
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_visit_customer_id"), "visit", ["customer_id"], unique=False)
    op.create_index(op.f("ix_visit_vehicle_id"), "visit", ["vehicle_id"], unique=False)
    op.create_table(
        "shop",
        sa.Column("key", sa.String(length=80), nullable=False),
        sa.Column("value", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_shop")),
        comment="What the owner set, JSON a key; each change is an event of the stream 'shop'.",
    )


def _walkarounds() -> None:
    op.create_table(
        "recording",
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("suffix", sa.String(length=16), nullable=False),
        sa.Column("bytes", sa.BigInteger(), nullable=False),
        sa.Column("duration_s", sa.Float(), nullable=True),
        sa.Column("video", sa.Boolean(), nullable=False),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("sha256", name=op.f("pk_recording")),
        comment="The original file, unchanged, lies in the data folder under its sha256.",
    )
    op.create_table(
        "walkaround",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("vehicle_id", sa.Integer(), nullable=True),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("findings", sa.Integer(), nullable=False),
        sa.Column("to_check", sa.Integer(), nullable=False),
        sa.Column("order_number", sa.Text(), nullable=True),
        sa.Column("plate", sa.Text(), nullable=True),
        sa.Column("vehicle", sa.Text(), nullable=False),
        sa.Column("technician", sa.Text(), nullable=True),
        sa.Column("search", sa.Text(), nullable=False),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.Column("changed_at", sa.String(length=32), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('to_check', 'signed', 'set_aside')", name=op.f("ck_walkaround_state")),
        sa.ForeignKeyConstraint(["vehicle_id"], ["vehicle.id"], name=op.f("fk_walkaround_vehicle_id_vehicle")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_walkaround_visit_id_visit")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_walkaround")),
        comment="The fold of a walkaround's events, kept so that a page need not fold; words lie in `heard`.",
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_walkaround_vehicle_id"), "walkaround", ["vehicle_id"], unique=False)
    op.create_index(op.f("ix_walkaround_visit_id"), "walkaround", ["visit_id"], unique=False)


def _beside_walkarounds() -> None:
    op.create_table(
        "heard",
        sa.Column("walkaround_id", sa.Integer(), nullable=False),
        sa.Column("recording_id", sa.String(length=16), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=True),
        sa.Column("record", sa.Text(), nullable=False),
        sa.ForeignKeyConstraint(["sha256"], ["recording.sha256"], name=op.f("fk_heard_sha256_recording")),
        sa.ForeignKeyConstraint(["walkaround_id"], ["walkaround.id"], name=op.f("fk_heard_walkaround_id_walkaround")),
        sa.PrimaryKeyConstraint("walkaround_id", "recording_id", name=op.f("pk_heard")),
        comment="A recording as heard (words, times, probabilities), which never changes.",
    )
    op.create_index(op.f("ix_heard_sha256"), "heard", ["sha256"], unique=False)
    op.create_table(
        "attachment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walkaround_id", sa.Integer(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("kind", sa.String(length=16), nullable=False),
        sa.Column("suffix", sa.String(length=16), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.CheckConstraint("kind IN ('photo', 'still', 'clip')", name=op.f("ck_attachment_kind")),
        sa.ForeignKeyConstraint(
            ["walkaround_id"], ["walkaround.id"], name=op.f("fk_attachment_walkaround_id_walkaround")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_attachment")),
        comment="A file that belongs to a finding; which one, the finding's own list says.",
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_attachment_walkaround_id"), "attachment", ["walkaround_id"], unique=False)


def _jobs() -> None:
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.Text(), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("recordings", sa.Text(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("tries", sa.Integer(), nullable=False),
        sa.Column("done_s", sa.Float(), nullable=False),
        sa.Column("total_s", sa.Float(), nullable=False),
        sa.Column("worker", sa.String(length=80), nullable=True),
        sa.Column("lease_until", sa.String(length=32), nullable=True),
        sa.Column("walkaround_id", sa.Integer(), nullable=True),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.Column("added_by", sa.String(length=80), nullable=False),
        sa.CheckConstraint("state IN ('waiting', 'working', 'done', 'failed', 'stopped')", name=op.f("ck_job_state")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_job_visit_id_visit")),
        sa.ForeignKeyConstraint(["walkaround_id"], ["walkaround.id"], name=op.f("fk_job_walkaround_id_walkaround")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        comment="Recordings to be heard as one walkaround; `recordings`: JSON list of sha256.",
        sqlite_autoincrement=True,
    )
    op.create_index(op.f("ix_job_state"), "job", ["state"], unique=False)
    op.create_index(op.f("ix_job_visit_id"), "job", ["visit_id"], unique=False)


def _people() -> None:
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("name", sa.String(length=80), nullable=False),
        sa.Column("role", sa.String(length=16), nullable=False),
        sa.Column("pin_hash", sa.Text(), nullable=True),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("locked_until", sa.String(length=32), nullable=True),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.CheckConstraint("role IN ('technician', 'advisor', 'owner')", name=op.f("ck_person_role")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("name", name=op.f("uq_person_name")),
        sqlite_autoincrement=True,
    )
    op.create_table(
        "signed_in",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("began_at", sa.String(length=32), nullable=False),
        sa.Column("until", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_signed_in_person_id_person")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_signed_in")),
    )
    op.create_index(op.f("ix_signed_in_person_id"), "signed_in", ["person_id"], unique=False)
    op.create_table(
        "pairing",
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("until", sa.String(length=32), nullable=False),
        sa.Column("used_at", sa.String(length=32), nullable=True),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_pairing_person_id_person")),
        sa.PrimaryKeyConstraint("token_hash", name=op.f("pk_pairing")),
        comment="A code shown once as QR, by which another device signs in for the first time.",
    )
