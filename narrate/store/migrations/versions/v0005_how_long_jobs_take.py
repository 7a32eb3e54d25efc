"""Say when a job was last begun and ended, how long it took, and what kind of failure it was."""

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Add the columns; of jobs of before nobody knows."""
    op.add_column("job", sa.Column("kind", sa.String(length=16), nullable=False, server_default=""))
    op.add_column("job", sa.Column("began_at", sa.String(length=32), nullable=True))
    op.add_column("job", sa.Column("ended_at", sa.String(length=32), nullable=True))
    op.add_column("job", sa.Column("took_s", sa.Float(), nullable=True))
