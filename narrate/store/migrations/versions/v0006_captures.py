"""Keep what phones send while somebody speaks, piece by piece."""

import sqlalchemy as sa
from alembic import op

revision = "0006"
down_revision = "0005"
branch_labels = None
depends_on = None

COMMENTS = {
    "capture": "key: made by the phone. told: for each recording made of it, where runs lie in it and its gaps, JSON.",
    "capture_run": "A recorder from its start to its end; only its first piece has a header.",
    "capture_piece": "Its bytes lie in the data folder until the capture is a recording; the row stays.",
    "capture_mark": "A command or an answer, its seconds those of its run.",
    "capture_photo": "A photo; it waits in the data folder until the finding is known that it belongs to.",
}


def upgrade() -> None:
    """Make the tables."""
    op.create_table(
        "capture",
        sa.Column("key", sa.String(length=32), nullable=False),
        sa.Column("visit_id", sa.Integer(), nullable=True),
        sa.Column("job_id", sa.Integer(), nullable=True),
        sa.Column("device", sa.Text(), nullable=False),
        sa.Column("started_at", sa.String(length=32), nullable=False),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.Column("added_by", sa.String(length=80), nullable=False),
        sa.Column("told", sa.Text(), nullable=True),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_capture_job_id_job")),
        sa.ForeignKeyConstraint(["visit_id"], ["visit.id"], name=op.f("fk_capture_visit_id_visit")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_capture")),
        comment=COMMENTS["capture"],
    )
    op.create_index(op.f("ix_capture_job_id"), "capture", ["job_id"])
    op.create_index(op.f("ix_capture_visit_id"), "capture", ["visit_id"])
    _of_a_capture(
        "capture_run",
        sa.Column("run", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("mime", sa.String(length=120), nullable=False),
        sa.Column("started_at", sa.String(length=32), nullable=False),
        key=("key", "run"),
    )
    _of_a_capture(
        "capture_piece",
        sa.Column("run", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("number", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("bytes", sa.Integer(), nullable=False),
        sa.Column("from_s", sa.Float(), nullable=False),
        sa.Column("to_s", sa.Float(), nullable=False),
        key=("key", "run", "number"),
    )
    _of_a_capture(
        "capture_mark",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("run", sa.Integer(), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        key=("key", "id"),
    )
    _of_a_capture(
        "capture_photo",
        sa.Column("id", sa.String(length=64), nullable=False),
        sa.Column("run", sa.Integer(), nullable=False),
        sa.Column("at_s", sa.Float(), nullable=False),
        sa.Column("sha256", sa.String(length=64), nullable=False),
        sa.Column("attachment_id", sa.Integer(), nullable=True),
        sa.ForeignKeyConstraint(
            ["attachment_id"], ["attachment.id"], name=op.f("fk_capture_photo_attachment_id_attachment")
        ),
        key=("key", "id"),
    )


def _of_a_capture(name: str, *columns: sa.schema.SchemaItem, key: tuple[str, ...]) -> None:
    op.create_table(
        name,
        sa.Column("key", sa.String(length=32), nullable=False),
        *columns,
        sa.ForeignKeyConstraint(["key"], ["capture.key"], name=op.f(f"fk_{name}_key_capture")),
        sa.PrimaryKeyConstraint(*key, name=op.f(f"pk_{name}")),
        comment=COMMENTS[name],
    )
