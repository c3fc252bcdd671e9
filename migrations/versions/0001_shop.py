"""The shop: its documents, people, customers, suppliers, instruments and bottles."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "bottle",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(40), nullable=False),
        sa.Column("gas", sa.String(40), nullable=False),
        sa.Column("volume_m3", sa.Double(), nullable=False),
        sa.Column("pressure_pa", sa.Double(), nullable=False),
        sa.Column("rating_pa", sa.Double(), nullable=False),
        sa.Column("empty", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_bottle")),
        sa.UniqueConstraint("code", name=op.f("uq_bottle_code")),
        sa.CheckConstraint("pressure_pa >= 0", name=op.f("ck_bottle_pressure")),
        sa.CheckConstraint("volume_m3 > 0", name=op.f("ck_bottle_volume")),
    )
    op.create_table(
        "customer",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(20), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("name_key", sa.String(200), nullable=False),
        sa.Column("phone", sa.String(60), nullable=False),
        sa.Column("email", sa.String(120), nullable=False),
        sa.Column("place", sa.String(120), nullable=False),
        sa.Column("house", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_customer")),
        sa.UniqueConstraint("code", name=op.f("uq_customer_code")),
    )
    op.create_index(op.f("ix_customer_name_key"), "customer", ["name_key"])
    op.create_table(
        "instrument",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(40), nullable=False),
        sa.Column("kind", sa.String(40), nullable=False),
        sa.Column("description", sa.String(200), nullable=False),
        sa.Column("unit", sa.String(20), nullable=False),
        sa.Column("low_si", sa.Double()),
        sa.Column("high_si", sa.Double()),
        sa.Column("resolution_si", sa.Double()),
        sa.Column("rating_pa", sa.Double()),
        sa.Column("dead_volume_m3", sa.Double()),
        sa.Column("refused", sa.Text()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_instrument")),
        sa.UniqueConstraint("code", name=op.f("uq_instrument_code")),
        sa.CheckConstraint(
            "high_si IS NULL OR high_si >= low_si", name=op.f("ck_instrument_range")
        ),
    )
    op.create_index(op.f("ix_instrument_kind"), "instrument", ["kind"])
    op.create_table(
        "person",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("initials", sa.String(8), nullable=False),
        sa.Column("name", sa.String(120), nullable=False),
        sa.Column("role", sa.String(20), nullable=False),
        sa.Column("badge", sa.String(40)),
        sa.Column("pin_hash", sa.String(200)),
        sa.Column("active", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_person")),
        sa.UniqueConstraint("badge", name=op.f("uq_person_badge")),
        sa.UniqueConstraint("initials", name=op.f("uq_person_initials")),
        sa.CheckConstraint(
            "role IN ('counter','technician','manager')", name=op.f("ck_person_role")
        ),
    )
    op.create_table(
        "shop_document",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("revision", sa.String(20), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shop_document")),
    )
    op.create_index(
        op.f("uq_shop_document_revision"), "shop_document", ["kind", "revision"], unique=True
    )
    op.create_table(
        "supplier",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(20), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.Column("email", sa.String(120), nullable=False),
        sa.Column("lead_days", sa.Integer(), nullable=False),
        sa.Column("minimum_order_cents", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_supplier")),
        sa.UniqueConstraint("code", name=op.f("uq_supplier_code")),
        sa.CheckConstraint("lead_days >= 0", name=op.f("ck_supplier_lead")),
        sa.CheckConstraint("minimum_order_cents >= 0", name=op.f("ck_supplier_minimum")),
    )
    op.create_table(
        "calibration",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("instrument_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("due", sa.DateTime(timezone=True), nullable=False),
        sa.Column("passed", sa.Boolean(), nullable=False),
        sa.Column("certificate", sa.String(60), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_calibration")),
        sa.ForeignKeyConstraint(
            ["instrument_id"], ["instrument.id"], name=op.f("fk_calibration_instrument_id")
        ),
    )
    op.create_index(op.f("ix_calibration_instrument_at"), "calibration", ["instrument_id", "at"])


def downgrade() -> None:
    op.drop_table("calibration")
    op.drop_table("supplier")
    op.drop_table("shop_document")
    op.drop_table("person")
    op.drop_table("instrument")
    op.drop_table("customer")
    op.drop_table("bottle")
