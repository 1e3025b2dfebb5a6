"""The shop's own parts: articles, prices, fits and movements of stock."""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the four tables; moments are microseconds since 1970, money is in cents."""
    op.create_table(
        "parts",
        sa.Column("number", sa.Text),
        sa.Column("title", sa.Text, nullable=False),
        sa.Column("kinds", sa.Text, nullable=False),
        sa.Column("barcode", sa.Text),
        sa.Column("room", sa.Float, nullable=False),
        sa.Column("retired", sa.Boolean, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
        sa.PrimaryKeyConstraint("number", name="pk_parts"),
    )
    op.create_index("ix_parts_barcode", "parts", ["barcode"])
    _of_a_part(
        "part_offers",
        sa.Column("supplier", sa.Text, nullable=False),
        sa.Column("code", sa.Text, nullable=False),
        sa.Column("price", sa.BigInteger, nullable=False),
        sa.Column("lead_days", sa.Float, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
    )
    _of_a_part(
        "part_fits",
        sa.Column("model", sa.Text, nullable=False),
        sa.Column("sure", sa.Text, nullable=False),
        sa.Column("kept_at", sa.BigInteger, nullable=False),
    )
    _of_a_part(
        "part_moves",
        sa.Column("number", sa.BigInteger, nullable=False),
        sa.Column("source", sa.Text),
        sa.Column("target", sa.Text),
        sa.Column("units", sa.BigInteger, nullable=False),
        sa.Column("reason", sa.Text, nullable=False),
        sa.Column("despite", sa.Text),
        sa.Column("job", sa.Text),
        sa.Column("author", sa.Text, nullable=False),
        sa.Column("at", sa.BigInteger, nullable=False),
        sa.UniqueConstraint("number", name="uq_part_moves_number"),
    )
    op.create_index("ix_part_moves_job", "part_moves", ["job"])


def _of_a_part(name: str, *columns: sa.schema.SchemaItem) -> None:
    op.create_table(
        name,
        sa.Column("id", sa.Text),
        sa.Column("part", sa.Text, nullable=False),
        *columns,
        sa.PrimaryKeyConstraint("id", name=f"pk_{name}"),
        sa.ForeignKeyConstraint(["part"], ["parts.number"], name=f"fk_{name}_part"),
    )
    op.create_index(f"ix_{name}_part", name, ["part"])
