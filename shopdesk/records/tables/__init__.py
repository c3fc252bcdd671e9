"""The mapped classes, one file per part of the shop."""

from shopdesk.records.tables.base import Base, canonical
from shopdesk.records.tables.gas import ChargeResult, GasMove
from shopdesk.records.tables.jobs import (
    Concession,
    CoreDeposit,
    Draft,
    Entry,
    Forecast,
    Job,
    Reopening,
    Shipment,
    Unit,
    UnitModel,
    WorkOrder,
)
from shopdesk.records.tables.procedures import (
    ProcedureApproval,
    ProcedureMove,
    ProcedureRevision,
)
from shopdesk.records.tables.shop import (
    Bottle,
    Calibration,
    Customer,
    Instrument,
    Person,
    ShopDocument,
    Supplier,
)
from shopdesk.records.tables.stores import (
    Approval,
    Lot,
    Part,
    PartSupplier,
    PriceBreak,
    Purchase,
    PurchaseLine,
    Quote,
    QuoteLine,
    StockMove,
)
from shopdesk.records.tables.trade import ColumnMap, CoreGrade, JobCost
from shopdesk.records.tables.trail import ChainHead, Event

__all__ = [
    "Approval",
    "Base",
    "Bottle",
    "Calibration",
    "ChainHead",
    "ChargeResult",
    "ColumnMap",
    "Concession",
    "CoreDeposit",
    "CoreGrade",
    "Customer",
    "Draft",
    "Entry",
    "Event",
    "Forecast",
    "GasMove",
    "Instrument",
    "Job",
    "JobCost",
    "Lot",
    "Part",
    "PartSupplier",
    "Person",
    "PriceBreak",
    "ProcedureApproval",
    "ProcedureMove",
    "ProcedureRevision",
    "Purchase",
    "PurchaseLine",
    "Quote",
    "QuoteLine",
    "Reopening",
    "Shipment",
    "ShopDocument",
    "StockMove",
    "Supplier",
    "Unit",
    "UnitModel",
    "WorkOrder",
    "canonical",
]
