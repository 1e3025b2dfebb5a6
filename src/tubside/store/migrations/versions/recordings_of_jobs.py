"""What a phone recorded at a machine, beside the facts of its job."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"


def upgrade() -> None:
    """Make the table; moments are microseconds since 1970."""
    op.create_table(
        "recordings",
        sa.Column("id", sa.Text),
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("content", sa.LargeBinary),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.Column("erased_at", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_recordings"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_recordings_job"),
    )
    op.create_index("ix_recordings_job", "recordings", ["job"])
