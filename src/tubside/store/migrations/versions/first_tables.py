"""The first tables: facts, what lies beside them, and who may log in."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None


def upgrade() -> None:
    """Make all tables of the first version; moments are microseconds since 1970."""
    _jobs()
    _facts()
    _beside()
    _logins()


def _jobs() -> None:
    op.create_table(
        "jobs",
        sa.Column("id", sa.Text),
        sa.Column("opened_at", sa.BigInteger, nullable=False),
        sa.Column("last_at", sa.BigInteger, nullable=False),
        sa.Column("stage", sa.Text, nullable=False),
        sa.Column("closed", sa.Boolean, nullable=False),
        sa.Column("family", sa.Text),
        sa.Column("model", sa.Text),
        sa.Column("trouble", sa.Text, nullable=False),
        sa.Column("danger", sa.Boolean, nullable=False),
        sa.Column("person", sa.Text),
        sa.Column("leading", sa.Text),
        sa.Column("chance", sa.Float),
        sa.Column("fee", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_jobs"),
    )
    op.create_index("ix_jobs_closed_last_at_id", "jobs", ["closed", "last_at", "id"])


def _facts() -> None:
    op.create_table(
        "facts",
        sa.Column("id", sa.Text),
        sa.Column("job", sa.Text, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.Column("sequence", sa.BigInteger, nullable=False),
        sa.Column("at", sa.BigInteger, nullable=False),
        sa.Column("seen", sa.Text, nullable=False),
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("body", sa.Text, nullable=False),
        sa.Column("retracts", sa.Text),
        sa.Column("computed_from", sa.Text),
        sa.Column("received_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_facts"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name="fk_facts_job"),
        sa.UniqueConstraint("device", "sequence", name="uq_facts_device_sequence"),
    )
    op.create_index("ix_facts_job", "facts", ["job"])
    op.create_index("ix_facts_kind", "facts", ["kind"])


def _beside() -> None:
    op.create_table(
        "people",
        sa.Column("id", sa.Text),
        sa.Column("data", sa.Text),
        sa.Column("replaces", sa.Text),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.Column("erased_at", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name="pk_people"),
    )
    op.create_index("ix_people_replaces", "people", ["replaces"])
    _of_a_job("words", sa.Column("content", sa.Text))
    _of_a_job(
        "photos",
        sa.Column("media_type", sa.Text, nullable=False),
        sa.Column("content", sa.LargeBinary),
    )
    op.create_table(
        "told",
        sa.Column("id", sa.Text),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("id", name="pk_told"),
    )


def _of_a_job(name: str, *content: sa.Column[object]) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Text),
        sa.Column("job", sa.Text, nullable=False),
        *content,
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.Column("erased_at", sa.BigInteger),
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name=f"fk_{name}_job"),
    )
    op.create_index(f"ix_{name}_job", name, ["job"])


def _logins() -> None:
    op.create_table(
        "users",
        sa.Column("name", sa.Text),
        sa.Column("role", sa.Text, nullable=False),
        sa.Column("password", sa.Text, nullable=False),
        sa.Column("since", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_users"),
    )
    op.create_table(
        "sessions",
        sa.Column("token_hash", sa.Text),
        sa.Column("id", sa.Text, nullable=False),
        sa.Column("user", sa.Text, nullable=False),
        sa.Column("since", sa.BigInteger, nullable=False),
        sa.Column("seen_at", sa.BigInteger, nullable=False),
        sa.Column("device", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("token_hash", name="pk_sessions"),
        sa.ForeignKeyConstraint(
            ["user"], ["users.name"], name="fk_sessions_user", ondelete="CASCADE"
        ),
        sa.UniqueConstraint("id", name="uq_sessions_id"),
    )
    op.create_index("ix_sessions_user", "sessions", ["user"])
    op.create_table(
        "tries",
        sa.Column("key", sa.Text),
        sa.Column("left", sa.Float, nullable=False),
        sa.Column("at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_tries"),
    )
    op.create_table(
        "settings",
        sa.Column("name", sa.Text),
        sa.Column("value", sa.Text, nullable=False),
        sa.PrimaryKeyConstraint("name", name="pk_settings"),
    )
