"""Make the same thing of the same recordings only once; count failures apart from beginnings."""

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the table and the column; of jobs of before, those that failed have failed once."""
    op.create_table(
        "result",
        sa.Column("key", sa.String(length=64), nullable=False),
        sa.Column("walkaround_id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_result_job_id_job")),
        sa.ForeignKeyConstraint(["walkaround_id"], ["walkaround.id"], name=op.f("fk_result_walkaround_id_walkaround")),
        sa.PrimaryKeyConstraint("key", name=op.f("pk_result")),
        comment="What was made of recordings; key: digest of audio, model, lexicon, settings, rules and order.",
    )
    op.create_index(op.f("ix_result_walkaround_id"), "result", ["walkaround_id"])
    op.create_index(op.f("ix_result_job_id"), "result", ["job_id"])
    op.add_column("job", sa.Column("failures", sa.Integer(), nullable=False, server_default="0"))
    op.execute("UPDATE job SET failures = 1 WHERE state = 'failed'")
