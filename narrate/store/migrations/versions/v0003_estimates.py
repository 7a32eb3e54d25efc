"""Keep price books, estimates, what was offered in them, and links that show them."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Make the tables."""
    _estimates()
    _books()
    _links()


def _estimates() -> None:
    op.create_table(
        "estimate",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("walkaround_id", sa.Integer(), nullable=False),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("revision", sa.Integer(), nullable=False),
        sa.Column("jobs", sa.Integer(), nullable=False),
        sa.Column("to_be_priced", sa.Integer(), nullable=False),
        sa.Column("currency", sa.String(length=3), nullable=False),
        sa.Column("total", sa.String(length=40), nullable=False),
        sa.Column("order_number", sa.Text(), nullable=True),
        sa.Column("customer", sa.Text(), nullable=True),
        sa.Column("vehicle", sa.Text(), nullable=False),
        sa.Column("expires_on", sa.String(length=10), nullable=True),
        sa.Column("search", sa.Text(), nullable=False),
        sa.Column("added_at", sa.String(length=32), nullable=False),
        sa.Column("changed_at", sa.String(length=32), nullable=False),
        sa.Column("record", sa.Text(), nullable=False),
        sa.CheckConstraint("state IN ('draft', 'offered', 'answered', 'set_aside')", name=op.f("ck_estimate_state")),
        sa.ForeignKeyConstraint(
            ["walkaround_id"], ["walkaround.id"], name=op.f("fk_estimate_walkaround_id_walkaround")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_estimate")),
        sqlite_autoincrement=True,
        comment="The fold of an estimate's events. Amounts are decimal text: neither engine may round them.",
    )
    op.create_index(op.f("ix_estimate_walkaround_id"), "estimate", ["walkaround_id"])
    op.create_index("ix_estimate_state_added_at", "estimate", ["state", "added_at"])
    op.create_table(
        "offered_job",
        sa.Column("estimate_id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.String(length=16), nullable=False),
        sa.Column("component", sa.String(length=80), nullable=True),
        sa.Column("state", sa.String(length=16), nullable=False),
        sa.Column("optional", sa.Boolean(), nullable=False),
        sa.Column("amount", sa.String(length=40), nullable=False),
        sa.Column("answered_at", sa.String(length=32), nullable=True),
        sa.Column("decide_by_date", sa.String(length=10), nullable=True),
        sa.ForeignKeyConstraint(["estimate_id"], ["estimate.id"], name=op.f("fk_offered_job_estimate_id_estimate")),
        sa.PrimaryKeyConstraint("estimate_id", "job_id", name=op.f("pk_offered_job")),
        comment="A line for each job of an estimate, written anew with it, so that sums over a year read no records.",
    )
    op.create_index("ix_offered_job_state_decide_by_date", "offered_job", ["state", "decide_by_date"])


def _books() -> None:
    op.create_table(
        "price_book",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("digest", sa.String(length=64), nullable=False),
        sa.Column("rows", sa.Integer(), nullable=False),
        sa.Column("imported", sa.Boolean(), nullable=False),
        sa.Column("kept_at", sa.String(length=32), nullable=False),
        sa.Column("kept_by", sa.String(length=80), nullable=False),
        sa.Column("packed", sa.LargeBinary(), nullable=True),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_price_book")),
        sqlite_autoincrement=True,
        comment=(
            "Each version of the book; the last one holds. packed: its JSON, compressed; digest: sha256 of that JSON."
        ),
    )


def _links() -> None:
    op.create_table(
        "estimate_link",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("token_hash", sa.String(length=64), nullable=False),
        sa.Column("estimate_id", sa.Integer(), nullable=False),
        sa.Column("until", sa.String(length=32), nullable=False),
        sa.Column("made_at", sa.String(length=32), nullable=False),
        sa.Column("made_by", sa.String(length=80), nullable=False),
        sa.Column("ended_at", sa.String(length=32), nullable=True),
        sa.Column("opened", sa.Integer(), nullable=False),
        sa.ForeignKeyConstraint(["estimate_id"], ["estimate.id"], name=op.f("fk_estimate_link_estimate_id_estimate")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_estimate_link")),
        sa.UniqueConstraint("token_hash", name=op.f("uq_estimate_link_token_hash")),
        sqlite_autoincrement=True,
        comment="A link that shows one estimate to who has it; only the sha256 of its token is kept.",
    )
    op.create_index(op.f("ix_estimate_link_estimate_id"), "estimate_link", ["estimate_id"])
    op.create_table(
        "link_try",
        sa.Column("asker", sa.String(length=64), nullable=False),
        sa.Column("failures", sa.Integer(), nullable=False),
        sa.Column("since", sa.String(length=32), nullable=False),
        sa.PrimaryKeyConstraint("asker", name=op.f("pk_link_try")),
        comment="Links tried that are none, by the sha256 of the address that tried them.",
    )
