"""Quotes, invoices, their numbers, and payments."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"


def upgrade() -> None:
    """Make the five tables; moments are microseconds since 1970, money is in cents."""
    op.create_table(
        "money_numbers",
        sa.Column("series", sa.Text),
        sa.Column("last", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("series", name="pk_money_numbers"),
    )
    _of_a_job(
        "quotes",
        sa.Column("kind", sa.Text, nullable=False),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("made_at", sa.BigInteger, nullable=False),
    )
    op.create_table(
        "quote_answers",
        sa.Column("quote", sa.Text),
        sa.Column("agreed", sa.Boolean, nullable=False),
        sa.Column("way", sa.Text, nullable=False),
        sa.Column("answered_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("quote", name="pk_quote_answers"),
        sa.ForeignKeyConstraint(["quote"], ["quotes.id"], name="fk_quote_answers_quote"),
    )
    _of_a_job(
        "bills",
        sa.Column("series", sa.Text, nullable=False),
        sa.Column("number", sa.BigInteger, nullable=False),
        sa.Column("person", sa.Text),
        sa.Column("corrects", sa.Text),
        sa.Column("content", sa.Text, nullable=False),
        sa.Column("hash", sa.Text, nullable=False),
        sa.Column("total", sa.BigInteger, nullable=False),
        sa.Column("due_on", sa.Text, nullable=False),
        sa.Column("issued_at", sa.BigInteger, nullable=False),
        sa.UniqueConstraint("series", "number", name="uq_bills_series_number"),
        sa.ForeignKeyConstraint(["corrects"], ["bills.id"], name="fk_bills_corrects"),
    )
    _of_a_job(
        "payments",
        sa.Column("bill", sa.Text),
        sa.Column("cents", sa.BigInteger, nullable=False),
        sa.Column("rounding", sa.BigInteger, nullable=False),
        sa.Column("way", sa.Text, nullable=False),
        sa.Column("reverses", sa.Text),
        sa.Column("paid_on", sa.Text, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.UniqueConstraint("reverses", name="uq_payments_reverses"),
        sa.ForeignKeyConstraint(["bill"], ["bills.id"], name="fk_payments_bill"),
    )


def _of_a_job(name: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Text),
        sa.Column("job", sa.Text, nullable=False),
        *columns,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["job"], ["jobs.id"], name=f"fk_{name}_job"),
    )
    op.create_index(f"ix_{name}_job", name, ["job"])
