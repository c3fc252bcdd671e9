"""Units and what happens to them: jobs, entries, drafts, shipments."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    op.create_table(
        "draft",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("terminal", sa.String(120), nullable=False),
        sa.Column("place", sa.String(200), nullable=False),
        sa.Column("text", sa.Text(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_draft")),
        sa.UniqueConstraint("terminal", "place", name=op.f("uq_draft_terminal_place")),
    )
    op.create_table(
        "unit_model",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("code", sa.String(40), nullable=False),
        sa.Column("name", sa.String(200), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unit_model")),
        sa.UniqueConstraint("code", name=op.f("uq_unit_model_code")),
    )
    op.create_table(
        "procedure_revision",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_model_id", sa.Integer(), nullable=False),
        sa.Column("revision", sa.String(20), nullable=False),
        sa.Column("document", sa.Text(), nullable=False),
        sa.Column("sha256", sa.String(64), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("person_id", sa.Integer()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_procedure_revision")),
        sa.ForeignKeyConstraint(
            ["unit_model_id"], ["unit_model.id"], name=op.f("fk_procedure_revision_unit_model_id")
        ),
        sa.ForeignKeyConstraint(
            ["person_id"], ["person.id"], name=op.f("fk_procedure_revision_person_id")
        ),
        sa.UniqueConstraint(
            "unit_model_id", "revision", name=op.f("uq_procedure_revision_unit_model_id_revision")
        ),
    )
    op.create_table(
        "unit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("unit_model_id", sa.Integer(), nullable=False),
        sa.Column("serial", sa.String(80), nullable=False),
        sa.Column("serial_key", sa.String(80), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("pool", sa.Boolean(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_unit")),
        sa.ForeignKeyConstraint(
            ["unit_model_id"], ["unit_model.id"], name=op.f("fk_unit_unit_model_id")
        ),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_unit_customer_id")),
        sa.UniqueConstraint(
            "unit_model_id", "serial_key", name=op.f("uq_unit_unit_model_id_serial_key")
        ),
    )
    op.create_index(op.f("ix_unit_serial_key"), "unit", ["serial_key"])
    op.create_table(
        "work_order",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("reference", sa.String(80), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_work_order")),
        sa.ForeignKeyConstraint(
            ["customer_id"], ["customer.id"], name=op.f("fk_work_order_customer_id")
        ),
    )
    op.create_index(op.f("ix_work_order_customer_id"), "work_order", ["customer_id"])
    op.create_table(
        "job",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(20), nullable=False),
        sa.Column("unit_id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("work_order_id", sa.Integer()),
        sa.Column("procedure_revision_id", sa.Integer(), nullable=False),
        sa.Column("complaint", sa.Text(), nullable=False),
        sa.Column("opened_at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("first_promised_on", sa.Date(), nullable=False),
        sa.Column("promised_on", sa.Date(), nullable=False),
        sa.Column("road", sa.String(20), nullable=False),
        sa.Column("stage", sa.String(20), nullable=False),
        sa.Column("gas_state", sa.String(10), nullable=False),
        sa.Column("waiting_for", sa.String(160), nullable=False),
        sa.Column("waiting_on", sa.String(60), nullable=False),
        sa.Column("waiting_since", sa.DateTime(timezone=True), nullable=False),
        sa.Column("assigned_to", sa.Integer()),
        sa.Column("closed_at", sa.DateTime(timezone=True)),
        sa.Column("version", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_job")),
        sa.ForeignKeyConstraint(["unit_id"], ["unit.id"], name=op.f("fk_job_unit_id")),
        sa.ForeignKeyConstraint(["customer_id"], ["customer.id"], name=op.f("fk_job_customer_id")),
        sa.ForeignKeyConstraint(
            ["work_order_id"], ["work_order.id"], name=op.f("fk_job_work_order_id")
        ),
        sa.ForeignKeyConstraint(
            ["procedure_revision_id"],
            ["procedure_revision.id"],
            name=op.f("fk_job_procedure_revision_id"),
        ),
        sa.ForeignKeyConstraint(["assigned_to"], ["person.id"], name=op.f("fk_job_assigned_to")),
        sa.UniqueConstraint("number", name=op.f("uq_job_number")),
        sa.CheckConstraint(
            "gas_state IN ('charged','vented','unknown','none')", name=op.f("ck_job_gas_state")
        ),
        sa.CheckConstraint("kind IN ('customer','warranty','exchange')", name=op.f("ck_job_kind")),
        sa.CheckConstraint(
            "road IN ('repair','declined','scrapped','quarantined')", name=op.f("ck_job_road")
        ),
    )
    op.create_index(op.f("ix_job_assigned_to"), "job", ["assigned_to"])
    op.create_index(op.f("ix_job_customer_id"), "job", ["customer_id"])
    op.create_index(
        op.f("ix_job_open_promised"),
        "job",
        ["promised_on"],
        sqlite_where=sa.text("closed_at IS NULL"),
        postgresql_where=sa.text("closed_at IS NULL"),
    )
    op.create_index(op.f("ix_job_unit_opened"), "job", ["unit_id", "opened_at"])
    op.create_index(op.f("ix_job_work_order_id"), "job", ["work_order_id"])
    op.create_index(
        op.f("uq_job_open_unit"),
        "job",
        ["unit_id"],
        unique=True,
        sqlite_where=sa.text("closed_at IS NULL"),
        postgresql_where=sa.text("closed_at IS NULL"),
    )
    op.create_table(
        "charge_result",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("unit_model_id", sa.Integer(), nullable=False),
        sa.Column("rig_id", sa.Integer(), nullable=False),
        sa.Column("bottle_id", sa.Integer(), nullable=False),
        sa.Column("loss_pa", sa.Double(), nullable=False),
        sa.Column("settled_pa", sa.Double(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_charge_result")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_charge_result_job_id")),
        sa.ForeignKeyConstraint(
            ["unit_model_id"], ["unit_model.id"], name=op.f("fk_charge_result_unit_model_id")
        ),
        sa.ForeignKeyConstraint(
            ["rig_id"], ["instrument.id"], name=op.f("fk_charge_result_rig_id")
        ),
        sa.ForeignKeyConstraint(
            ["bottle_id"], ["bottle.id"], name=op.f("fk_charge_result_bottle_id")
        ),
    )
    op.create_index(op.f("ix_charge_result_job_id"), "charge_result", ["job_id"])
    op.create_index(
        op.f("ix_charge_result_model_rig"), "charge_result", ["unit_model_id", "rig_id"]
    )
    op.create_table(
        "core_deposit",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("unit_model_id", sa.Integer(), nullable=False),
        sa.Column("shipped_unit_id", sa.Integer(), nullable=False),
        sa.Column("cents", sa.Integer(), nullable=False),
        sa.Column("due_on", sa.Date(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("settled_job_id", sa.Integer()),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_core_deposit")),
        sa.ForeignKeyConstraint(
            ["customer_id"], ["customer.id"], name=op.f("fk_core_deposit_customer_id")
        ),
        sa.ForeignKeyConstraint(
            ["unit_model_id"], ["unit_model.id"], name=op.f("fk_core_deposit_unit_model_id")
        ),
        sa.ForeignKeyConstraint(
            ["shipped_unit_id"], ["unit.id"], name=op.f("fk_core_deposit_shipped_unit_id")
        ),
        sa.ForeignKeyConstraint(
            ["settled_job_id"], ["job.id"], name=op.f("fk_core_deposit_settled_job_id")
        ),
        sa.CheckConstraint("cents >= 0", name=op.f("ck_core_deposit_cents")),
    )
    op.create_index(op.f("ix_core_deposit_customer_id"), "core_deposit", ["customer_id"])
    op.create_table(
        "entry",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("line", sa.String(200), nullable=False),
        sa.Column("slot", sa.String(60), nullable=False),
        sa.Column("typed", sa.Text(), nullable=False),
        sa.Column("value_si", sa.Double()),
        sa.Column("unit", sa.String(20), nullable=False),
        sa.Column("answer", sa.Text(), nullable=False),
        sa.Column("verdict", sa.String(10), nullable=False),
        sa.Column("limit_text", sa.Text(), nullable=False),
        sa.Column("limit_source", sa.Text(), nullable=False),
        sa.Column("instrument_id", sa.Integer()),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("witness_id", sa.Integer()),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.Column("supersedes", sa.Integer()),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_entry")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_entry_job_id")),
        sa.ForeignKeyConstraint(
            ["instrument_id"], ["instrument.id"], name=op.f("fk_entry_instrument_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_entry_person_id")),
        sa.ForeignKeyConstraint(["witness_id"], ["person.id"], name=op.f("fk_entry_witness_id")),
        sa.ForeignKeyConstraint(["supersedes"], ["entry.id"], name=op.f("fk_entry_supersedes")),
        sa.UniqueConstraint("supersedes", name=op.f("uq_entry_supersedes")),
        sa.CheckConstraint("verdict IN ('within','outside','none')", name=op.f("ck_entry_verdict")),
    )
    op.create_index(op.f("ix_entry_instrument_id"), "entry", ["instrument_id"])
    op.create_index(op.f("ix_entry_job"), "entry", ["job_id", "id"])
    op.create_table(
        "reopening",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("cause", sa.String(20), nullable=False),
        sa.Column("lines", sa.Text(), nullable=False),
        sa.Column("up_to_entry", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_reopening")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_reopening_job_id")),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_reopening_person_id")),
        sa.CheckConstraint(
            "cause IN ('vent void','rework','consequence','remeasure')",
            name=op.f("ck_reopening_cause"),
        ),
    )
    op.create_index(op.f("ix_reopening_job_id"), "reopening", ["job_id"])
    op.create_table(
        "shipment",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("customer_id", sa.Integer(), nullable=False),
        sa.Column("gas_state", sa.String(10), nullable=False),
        sa.Column("charge_pa", sa.Double()),
        sa.Column("ports", sa.Text(), nullable=False),
        sa.Column("carrier", sa.String(120), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("person_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_shipment")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_shipment_job_id")),
        sa.ForeignKeyConstraint(
            ["customer_id"], ["customer.id"], name=op.f("fk_shipment_customer_id")
        ),
        sa.ForeignKeyConstraint(["person_id"], ["person.id"], name=op.f("fk_shipment_person_id")),
        sa.UniqueConstraint("job_id", name=op.f("uq_shipment_job_id")),
        sa.CheckConstraint(
            "gas_state IN ('charged','vented','none')", name=op.f("ck_shipment_gas_state")
        ),
    )
    op.create_table(
        "concession",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("job_id", sa.Integer(), nullable=False),
        sa.Column("line", sa.String(200), nullable=False),
        sa.Column("entry_id", sa.Integer(), nullable=False),
        sa.Column("reason", sa.Text(), nullable=False),
        sa.Column("manager_id", sa.Integer(), nullable=False),
        sa.Column("customer_name", sa.String(120), nullable=False),
        sa.Column("customer_how", sa.String(120), nullable=False),
        sa.Column("at", sa.DateTime(timezone=True), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_concession")),
        sa.ForeignKeyConstraint(["job_id"], ["job.id"], name=op.f("fk_concession_job_id")),
        sa.ForeignKeyConstraint(["entry_id"], ["entry.id"], name=op.f("fk_concession_entry_id")),
        sa.ForeignKeyConstraint(
            ["manager_id"], ["person.id"], name=op.f("fk_concession_manager_id")
        ),
    )
    op.create_index(op.f("ix_concession_job_id"), "concession", ["job_id"])


def downgrade() -> None:
    op.drop_table("concession")
    op.drop_table("shipment")
    op.drop_table("reopening")
    op.drop_table("entry")
    op.drop_table("core_deposit")
    op.drop_table("charge_result")
    op.drop_table("job")
    op.drop_table("work_order")
    op.drop_table("unit")
    op.drop_table("procedure_revision")
    op.drop_table("unit_model")
    op.drop_table("draft")
