"""Old jobs brought in from lists, as learning sees them, without anybody's data."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0005"
down_revision = "0004"


def upgrade() -> None:
    """Make the table; moments are microseconds since 1970."""
    op.create_table(
        "brought_jobs",
        sa.Column("id", sa.Text),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_brought_jobs"),
    )
