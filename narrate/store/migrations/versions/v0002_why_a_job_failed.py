"""Say why a job failed; find walkarounds of one state by their time."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the column and the index; jobs of before have no reason."""
    op.add_column("job", sa.Column("why", sa.Text(), nullable=False, server_default=""))
    op.create_index("ix_walkaround_state_added_at", "walkaround", ["state", "added_at"])
